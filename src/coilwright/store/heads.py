"""Where each stream ends: what the next entry follows from, and what a cut tail shows by."""

from dataclasses import dataclass

from sqlalchemy import Connection, select

from coilwright.store.tables import HEAD


@dataclass(frozen=True, slots=True, kw_only=True)
class StreamHead:
    """A stream, how many entries it holds, and the hash of the last one."""

    stream: str
    entries: int
    head_hash: str


def heads_in(connection: Connection) -> tuple[StreamHead, ...]:
    """The stored head of every stream, by the stream's name."""
    rows = connection.execute(select(HEAD)).all()
    heads = (StreamHead(stream=r.stream, entries=r.entries, head_hash=r.head_hash) for r in rows)
    return tuple(sorted(heads, key=lambda head: head.stream))
