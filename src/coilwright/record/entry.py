"""One fact of the record, and the chain that shows when one was altered.

Canonical JSON: keys sorted, no spaces, UTF-8, no NaN. An entry's hash covers all its other fields,
the hash before it included.
"""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

Payload = Mapping[str, Any]
FIRST_HASH = "0" * 64
# The author of what was read from a case file, which tells days, no instants.
CASE_FILE_AUTHOR = "case file"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One fact, named in the past tense; never edited, never deleted.

    ``stream`` is the case, the shelf or the site; ``seq`` counts from 0 in it. ``at`` is when it
    happened, ``recorded_at`` when it was written down, both with a time zone.
    """

    id: UUID
    stream: str
    seq: int
    at: datetime
    recorded_at: datetime
    author: str
    kind: str
    payload: Payload
    previous_hash: str = FIRST_HASH
    hash: str = ""

    def __post_init__(self) -> None:
        if self.seq < 0:
            raise ValueError("an entry's seq counts from 0")
        if self.at.tzinfo is None or self.recorded_at.tzinfo is None:
            raise ValueError("an entry's times need a time zone")
        if not (self.stream and self.kind and self.author):
            raise ValueError("an entry needs a stream, a kind and an author")


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainFault:
    """The first place where a chain does not hold."""

    seq: int
    id: UUID
    what: str


def canonical_json(value: object) -> str:
    """The one way in which a value is written for hashing.

    Raises
    ------
    ValueError
        A number is NaN or infinite.

    Examples
    --------
    >>> canonical_json({"b": 1, "a": "µ"})
    '{"a":"µ","b":1}'
    """
    return json.dumps(
        value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )


def entry_hash(entry: Entry) -> str:
    """SHA-256 over the canonical JSON of every field but the hash itself."""
    content = {
        "id": str(entry.id),
        "stream": entry.stream,
        "seq": entry.seq,
        "at": entry.at.astimezone(UTC).isoformat(),
        "recorded_at": entry.recorded_at.astimezone(UTC).isoformat(),
        "author": entry.author,
        "kind": entry.kind,
        "payload": entry.payload,
        "previous_hash": entry.previous_hash,
    }
    return hashlib.sha256(canonical_json(content).encode("utf-8")).hexdigest()


def sealed(draft: Entry, *, seq: int, previous_hash: str) -> Entry:
    """The draft in its place, bound to the entry before it by its own hash."""
    placed = replace(draft, seq=seq, previous_hash=previous_hash)
    return replace(placed, hash=entry_hash(placed))


def chain(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries of one stream in order, numbered from 0 and linked by their hashes."""
    linked: list[Entry] = []
    previous_hash = FIRST_HASH
    for seq, entry in enumerate(entries):
        link = sealed(entry, seq=seq, previous_hash=previous_hash)
        linked.append(link)
        previous_hash = link.hash
    return tuple(linked)


def first_fault(entries: Sequence[Entry]) -> ChainFault | None:
    """The first entry that was altered, is missing or stands in the wrong place; else None.

    A cut tail does not show here: the head hash and the count in a backup's manifest show it.
    """
    previous_hash = FIRST_HASH
    for place, entry in enumerate(entries):
        what = None
        if entry.seq != place or entry.stream != entries[0].stream:
            what = "an entry is missing or stands in the wrong place"
        elif entry.previous_hash != previous_hash:
            what = "it does not follow from the entry before it"
        elif entry.hash != entry_hash(entry):
            what = "it was altered after it was written"
        if what is not None:
            return ChainFault(seq=place, id=entry.id, what=what)
        previous_hash = entry.hash
    return None
