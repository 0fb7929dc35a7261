"""Drafts become entries: linked to the heads of their streams inside one transaction."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import islice

from sqlalchemy import Column, Connection, insert, select, update

from coilwright.record import Entry, canonical_json, sealed
from coilwright.record.entry import FIRST_HASH
from coilwright.store.problems import (
    CorrectionConflict,
    DamagedRecord,
    EntryConflict,
    UnknownEntry,
)
from coilwright.store.rows import UnreadableRow, corrected_id, entry_of, storable_row
from coilwright.store.tables import ENTRY, HEAD

Heads = dict[str, tuple[int, str]]
NO_HEAD = (0, FIRST_HASH)
KEYS_AT_ONCE = 500


def append_entries(
    connection: Connection, drafts: Sequence[Entry], record: str
) -> tuple[Entry, ...]:
    """Write the drafts that are not there yet; hand back all of them as they are stored."""
    known = {entry.id: entry for entry in _stored(connection, [str(d.id) for d in drafts], record)}
    fresh: list[Entry] = []
    for draft in drafts:
        if draft.id not in known:
            known[draft.id] = draft
            fresh.append(draft)
        elif not _same_fact(known[draft.id], draft):
            raise EntryConflict(record, f"{draft.id} is there already with another content")
    _check_corrections(connection, fresh, record)
    before = _heads(connection, {draft.stream for draft in fresh})
    heads = dict(before)
    rows = [storable_row(entry) for entry in _linked(fresh, heads)]
    if rows:
        connection.execute(insert(ENTRY), rows)
        _move_heads(connection, before, heads)
    known |= {entry.id: entry for entry in map(entry_of, rows)}
    return tuple(known[draft.id] for draft in drafts)


def _same_fact(one: Entry, other: Entry) -> bool:
    return (one.stream, one.at, one.author, one.kind) == (
        other.stream,
        other.at,
        other.author,
        other.kind,
    ) and canonical_json(one.payload) == canonical_json(other.payload)


def _linked(drafts: Iterable[Entry], heads: Heads) -> Iterator[Entry]:
    """Each draft after the head of its stream, which moves on to it."""
    for draft in drafts:
        seq, previous_hash = heads.get(draft.stream, NO_HEAD)
        link = sealed(draft, seq=seq, previous_hash=previous_hash)
        heads[draft.stream] = (seq + 1, link.hash)
        yield link


def _check_corrections(connection: Connection, fresh: Sequence[Entry], record: str) -> None:
    """One correction for each entry, of its own stream, and after it."""
    named = {draft.id: corrected_id(draft) for draft in fresh}
    wanted = [key for key in named.values() if key is not None]
    stream_of = dict(_pairs(connection, ENTRY.c.id, ENTRY.c.stream, wanted))
    corrected = {key for key, _ in _pairs(connection, ENTRY.c.corrects, ENTRY.c.id, wanted)}
    for draft in fresh:
        key = named[draft.id]
        if key is not None:
            if stream_of.get(key) != draft.stream:
                raise UnknownEntry(record, f"the stream holds no entry {key}")
            if key in corrected:
                raise CorrectionConflict(record, f"{key} was corrected or withdrawn already")
            corrected.add(key)
        stream_of[str(draft.id)] = draft.stream


def _heads(connection: Connection, streams: Collection[str]) -> Heads:
    heads: Heads = {}
    for some in _portions(sorted(streams)):
        for row in connection.execute(select(HEAD).where(HEAD.c.stream.in_(some))):
            heads[row.stream] = (row.entries, row.head_hash)
    return heads


def _move_heads(connection: Connection, before: Heads, after: Heads) -> None:
    for stream, (entries, head_hash) in after.items():
        values = {"entries": entries, "head_hash": head_hash}
        if stream in before:
            connection.execute(update(HEAD).where(HEAD.c.stream == stream).values(values))
        else:
            connection.execute(insert(HEAD).values(stream=stream, **values))


def _stored(connection: Connection, ids: Sequence[str], record: str) -> Iterator[Entry]:
    for some in _portions(ids):
        for row in connection.execute(select(ENTRY).where(ENTRY.c.id.in_(some))).mappings():
            try:
                yield entry_of(row)
            except UnreadableRow as error:
                raise DamagedRecord(record, "an entry that is there cannot be read") from error


def _pairs(
    connection: Connection, key: Column[str], value: Column[str], keys: Sequence[str]
) -> Iterator[tuple[str, str]]:
    for some in _portions(keys):
        for found in connection.execute(select(key, value).where(key.in_(some))):
            yield found[0], found[1]


def _portions(keys: Iterable[str]) -> Iterator[list[str]]:
    """Databases bound the number of parameters of one statement."""
    rest = iter(keys)
    while some := list(islice(rest, KEYS_AT_ONCE)):
        yield some
