"""Whether the record is as it was written: the first broken entry of each stream."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from uuid import UUID

from sqlalchemy import select

from coilwright.record import Entry, first_fault
from coilwright.store.engine import file_fault
from coilwright.store.record_store import RecordStore, StreamHead
from coilwright.store.rows import Row, UnreadableRow, exact_entry_of
from coilwright.store.tables import ENTRY, HEAD


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


def check_record(store: RecordStore) -> tuple[RecordFault, ...]:
    """The first fault of each stream that has one; a cut tail shows by the stored head.

    Somebody who rewrites an entry, all that follow and the head leaves nothing to see here: a
    backup's manifest shows it.
    """
    faults: dict[str, RecordFault] = {}
    query = select(ENTRY).order_by(ENTRY.c.stream, ENTRY.c.seq)
    with store.reading() as connection:
        heads = {
            row.stream: StreamHead(stream=row.stream, entries=row.entries, head_hash=row.head_hash)
            for row in connection.execute(select(HEAD))
        }
        rows = connection.execution_options(yield_per=1000).execute(query).mappings()
        seen: set[str] = set()
        for stream, group in groupby(rows, key=lambda row: str(row["stream"])):
            seen.add(stream)
            fault = _stream_fault(stream, group, heads.get(stream))
            if fault is not None:
                faults.setdefault(stream, fault)
        damage = file_fault(connection)
    for stream in heads.keys() - seen:
        faults[stream] = _missing(stream, 0)
    if damage is not None and not faults:
        return (RecordFault(stream=None, seq=None, id=None, what=damage),)
    return tuple(faults[stream] for stream in sorted(faults))


def _stream_fault(stream: str, rows: Iterable[Row], head: StreamHead | None) -> RecordFault | None:
    entries: list[Entry] = []
    unreadable = False
    for row in rows:
        try:
            entries.append(exact_entry_of(row))
        except UnreadableRow:
            unreadable = True
            break
    fault = first_fault(entries)
    if fault is not None:
        return RecordFault(stream=stream, seq=fault.seq, id=fault.id, what=fault.what)
    if unreadable:
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
