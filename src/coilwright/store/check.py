"""Whether the record is as it was written: the first broken entry of each stream."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby, pairwise
from uuid import UUID

from sqlalchemy import Connection, func, select

from coilwright.record import Entry, first_fault
from coilwright.store.engine import file_fault
from coilwright.store.heads import StreamHead, heads_in
from coilwright.store.record_store import RecordStore
from coilwright.store.rows import Row, UnreadableRow, exact_entry_of
from coilwright.store.tables import ENTRY

# Clients hand in within a moment of one another, each with the time of its own clock: common
# practice, no source.
CLOCKS_AGREE_WITHIN = timedelta(seconds=60)


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordFault:
    """The first place where a stream does not hold.

    ``id`` is None where the entry is missing or cannot be read; ``stream`` and ``seq`` too where
    no stream shows the fault but the file itself does.
    """

    stream: str | None
    seq: int | None
    id: UUID | None
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockStep:
    """The first entry of a stream that says it was recorded well before the one ahead of it.

    It is as it was written: the order of a stream is that of ``seq``, whatever a clock says.
    """

    stream: str
    seq: int
    id: UUID
    back: timedelta


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordCheck:
    """What a look at every entry found, by the streams' names."""

    streams: int
    entries: int
    faults: tuple[RecordFault, ...]
    clock_steps: tuple[ClockStep, ...]


def check_record(store: RecordStore) -> tuple[RecordFault, ...]:
    """The first fault of each stream that has one; a cut tail shows by the stored head.

    Somebody who rewrites an entry, all that follow and the head leaves nothing to see here: a
    backup shows it (``examine_record``).
    """
    with store.reading() as connection:
        return examined(connection).faults


def examined(connection: Connection) -> RecordCheck:
    """Read every entry of one moment of a record, and of the database's own structure."""
    heads = {head.stream: head for head in heads_in(connection)}
    query = select(ENTRY).order_by(ENTRY.c.stream, ENTRY.c.seq)
    faults: dict[str, RecordFault] = {}
    steps: dict[str, ClockStep] = {}
    seen: set[str] = set()
    rows = connection.execute(query, execution_options={"yield_per": 1000}).mappings()
    for stream, group in groupby(rows, key=lambda row: str(row["stream"])):
        seen.add(stream)
        entries, whole = _readable(group)
        fault = _stream_fault(stream, entries, whole, heads.get(stream))
        if fault is not None:
            faults.setdefault(stream, fault)
        step = _clock_step(stream, entries)
        if step is not None:
            steps.setdefault(stream, step)
    for stream in heads.keys() - seen:
        faults[stream] = _missing(stream, 0)
    found = tuple(faults[stream] for stream in sorted(faults))
    return RecordCheck(
        streams=len(seen),
        entries=connection.execute(select(func.count()).select_from(ENTRY)).scalar_one(),
        faults=found or _structure_fault(connection),
        clock_steps=tuple(steps[stream] for stream in sorted(steps)),
    )


def _structure_fault(connection: Connection) -> tuple[RecordFault, ...]:
    damage = file_fault(connection)
    if damage is None:
        return ()
    return (RecordFault(stream=None, seq=None, id=None, what=damage),)


def _readable(rows: Iterable[Row]) -> tuple[list[Entry], bool]:
    """The entries up to the first row that holds none, and whether that is all of them."""
    entries: list[Entry] = []
    for row in rows:
        try:
            entries.append(exact_entry_of(row))
        except UnreadableRow:
            return entries, False
    return entries, True


def _stream_fault(
    stream: str, entries: list[Entry], whole: bool, head: StreamHead | None
) -> RecordFault | None:
    fault = first_fault(entries)
    if fault is not None:
        return RecordFault(stream=stream, seq=fault.seq, id=fault.id, what=fault.what)
    if not whole:
        what = "it was altered after it was written"
        return RecordFault(stream=stream, seq=len(entries), id=None, what=what)
    return _head_fault(stream, entries, head)


def _head_fault(stream: str, entries: list[Entry], head: StreamHead | None) -> RecordFault | None:
    last = entries[-1]
    if head is not None and head.entries > len(entries):
        return _missing(stream, len(entries))
    if head is None or (head.entries, head.head_hash) != (len(entries), last.hash):
        what = "the stream's stored head does not name its last entry"
        return RecordFault(stream=stream, seq=last.seq, id=last.id, what=what)
    return None


def _missing(stream: str, seq: int) -> RecordFault:
    what = "this entry and all after it are missing"
    return RecordFault(stream=stream, seq=seq, id=None, what=what)


def _clock_step(stream: str, entries: list[Entry]) -> ClockStep | None:
    for before, entry in pairwise(entries):
        back = before.recorded_at - entry.recorded_at
        if back > CLOCKS_AGREE_WITHIN:
            return ClockStep(stream=stream, seq=entry.seq, id=entry.id, back=back)
    return None
