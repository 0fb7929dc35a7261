"""Corrections and withdrawals applied to the entries that they name.

A correction stands in the place of the first entry of the line, at the same time unless it states
another, and lets the line count even after a withdrawal. A withdrawal takes the line out, whichever
entry of it it names, but for a withdrawal: withdrawing that leaves the line as it was before. So a
correction that was wrong is corrected, not withdrawn.

The store keeps one correction or withdrawal for each entry, so the next one names the last. Where a
list holds two for one entry all the same, the one recorded last has the last word.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum
from uuid import UUID

from coilwright.record.amendments import AMENDMENTS, Change
from coilwright.record.case_entry import fact_of, stated_fact
from coilwright.record.entry import CASE_FILE_AUTHOR, Entry
from coilwright.record.entry_payload import UnreadableEntry
from coilwright.record.settled import Amendment, Line, Loose, Settled
from coilwright.record.shelf_facts import EntryWithdrawn

ABSENT = "it names an entry that is not there"
CIRCLE = "it names itself by way of others"


@dataclass(frozen=True, slots=True)
class _Way:
    """From an amendment to the first entry of its line, and in how many steps; or why not."""

    line: UUID | None
    steps: int
    amiss: str = ""


class _Word(Enum):
    """What an entry does to its line, after all that names it."""

    COUNTS = "the line counts, as it says"
    GONE = "the line, as it says, is not so"
    WITHDRAWS = "what it names is not so"
    TAKEN_BACK = "it is as if it had never been"


@dataclass(frozen=True, slots=True)
class _Said:
    """An entry's word and content. ``at`` is null where it states no time."""

    word: _Word
    fact: object = None
    at: datetime | None = None


@dataclass(frozen=True, slots=True)
class _Book:
    """Every entry once; the amendments among them, their ways, and which of them name what."""

    entries: Mapping[UUID, Entry]
    changes: Mapping[UUID, Change]
    ways: Mapping[UUID, _Way]
    naming: Mapping[UUID, Sequence[UUID]]


def settle(entries: Iterable[Entry]) -> Settled:
    """What the entries of a case say, each once, in the order in which it happened.

    Of two that happened at one instant the one recorded first goes first, then the one that stands
    first in the stream. What a case file states keeps the file's order: it gives no instants.

    Raises
    ------
    UnreadableEntry
        An entry is not one of a case's or does not hold what its kind holds, a correction does not
        hold what the corrected kind holds, two different entries carry the same id, or they are of
        two streams.
    """
    book = _book(each_once(entries))
    said, overruled = _read(book)
    lines = [_line(book, id, said, overruled) for id in book.entries if id not in book.changes]
    loose = [_loose(book.entries[id], way.amiss) for id, way in book.ways.items() if way.amiss]
    return Settled(
        lines=tuple(sorted(lines, key=_place)),
        loose=tuple(sorted(loose, key=lambda one: (one.at, one.entry))),
        line_of={id: id for id in book.entries if id not in book.changes}
        | {id: way.line for id, way in book.ways.items() if way.line is not None and not way.amiss},
    )


def each_once(entries: Iterable[Entry]) -> dict[UUID, Entry]:
    """The entries by their ids; one that was sent twice is the same entry.

    Raises
    ------
    UnreadableEntry
        Two different ones carry the same id, or they are of two streams.
    """
    once: dict[UUID, Entry] = {}
    for entry in sorted(entries, key=lambda entry: entry.seq):
        first = once.setdefault(entry.id, entry)
        if first != replace(
            entry, seq=first.seq, previous_hash=first.previous_hash, hash=first.hash
        ):
            raise UnreadableEntry(f"two different entries carry the id {entry.id}")
    if len({entry.stream for entry in once.values()}) > 1:
        raise UnreadableEntry("entries of two streams: fold each stream by itself")
    return once


def _book(entries: Mapping[UUID, Entry]) -> _Book:
    changes = {id: _change(entry) for id, entry in entries.items() if entry.kind in AMENDMENTS}
    ways = _ways(entries, changes)
    naming: defaultdict[UUID, list[UUID]] = defaultdict(list)
    for id, change in sorted(changes.items(), key=lambda item: _recorded(entries[item[0]])):
        if not ways[id].amiss:
            naming[change.entry].append(id)
    return _Book(entries, changes, ways, naming)


def _change(entry: Entry) -> Change:
    change = fact_of(entry)
    if not isinstance(change, Change):
        raise TypeError(f"{entry.kind} is no amendment")
    return change


def _ways(entries: Mapping[UUID, Entry], changes: Mapping[UUID, Change]) -> dict[UUID, _Way]:
    found: dict[UUID, _Way] = {}
    for start in changes:
        path: dict[UUID, None] = {}
        here = start
        while here in changes and here not in found and here not in path:
            path[here] = None
            here = changes[here].entry
        way = found.get(here) or _Way(here, 0)
        if here in path:
            way = _Way(None, 0, CIRCLE)
        elif here not in entries:
            way = _Way(None, 0, ABSENT)
        for id in reversed(path):
            way = _Way(way.line, way.steps + 1, way.amiss)
            found[id] = way
    return found


def _read(book: _Book) -> tuple[dict[UUID, _Said], set[UUID]]:
    """What each entry says, and the amendments that do not stand; the farthest are read first."""
    said: dict[UUID, _Said] = {}
    overruled: set[UUID] = set()
    steps = {id: book.ways[id].steps if id in book.ways else 0 for id in book.entries}
    for id in sorted(book.entries, key=lambda id: -steps[id]):
        said[id] = _own(book, id)
        effective = [by for by in book.naming.get(id, ()) if said[by].word is not _Word.TAKEN_BACK]
        if effective:
            overruled |= {id, *effective[:-1]}
            said[id] = _amended(said[id], said[effective[-1]])
    return said, overruled


def _own(book: _Book, id: UUID) -> _Said:
    entry, change = book.entries[id], book.changes.get(id)
    if change is None:
        return _Said(_Word.COUNTS, fact_of(entry), entry.at)
    line = book.ways[id].line
    if isinstance(change, EntryWithdrawn) or line is None:
        return _Said(_Word.WITHDRAWS)
    kind = book.entries[line].kind
    return _Said(_Word.COUNTS, stated_fact(kind, change.payload, id=id), change.at)


def _amended(own: _Said, last: _Said) -> _Said:
    """What an entry says after the last word on it."""
    if last.word is not _Word.WITHDRAWS:
        return _Said(last.word, last.fact, last.at or own.at)
    back = own.word is _Word.WITHDRAWS
    return replace(own, word=_Word.TAKEN_BACK if back else _Word.GONE)


def _line(book: _Book, id: UUID, said: Mapping[UUID, _Said], overruled: set[UUID]) -> Line:
    entry, now = book.entries[id], said[id]
    at = now.at or entry.at
    return Line(
        entry=id,
        kind=entry.kind,
        at=at,
        timed=entry.author != CASE_FILE_AUTHOR or at != entry.at,
        recorded_at=entry.recorded_at,
        seq=entry.seq,
        author=entry.author,
        fact=now.fact,
        first=fact_of(entry),
        counts=now.word is _Word.COUNTS,
        amendments=tuple(_amendment(book, by, overruled) for by in _history(book, id)),
    )


def _history(book: _Book, id: UUID) -> list[UUID]:
    """Every amendment of a line, in the order of recording."""
    found: list[UUID] = []
    ahead = [id]
    while ahead:
        naming = book.naming.get(ahead.pop(), ())
        found += naming
        ahead += naming
    return sorted(found, key=lambda by: _recorded(book.entries[by]))


def _amendment(book: _Book, by: UUID, overruled: set[UUID]) -> Amendment:
    entry, change = book.entries[by], book.changes[by]
    return Amendment(
        by=by,
        kind=entry.kind,
        names=change.entry,
        why=change.why,
        author=entry.author,
        at=entry.at,
        recorded_at=entry.recorded_at,
        fact=_own(book, by).fact,
        stands=by not in overruled,
    )


def _loose(entry: Entry, what: str) -> Loose:
    return Loose(entry=entry.id, kind=entry.kind, author=entry.author, at=entry.at, what=what)


def _recorded(entry: Entry) -> tuple[datetime, datetime, int]:
    return (entry.recorded_at, entry.at, entry.seq)


def _place(line: Line) -> tuple[datetime, datetime, int]:
    return (line.at if line.timed else line.recorded_at, line.recorded_at, line.seq)
