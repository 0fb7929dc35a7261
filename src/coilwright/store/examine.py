"""The record beside a backup: a tail cut and a chain rewritten with its head show here."""

from dataclasses import replace
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection, select

from coilwright.store.backup_file import Backup, open_backup
from coilwright.store.check import RecordCheck, RecordFault, examined
from coilwright.store.heads import StreamHead
from coilwright.store.record_store import RecordStore
from coilwright.store.tables import ENTRY

Written = dict[int, tuple[str, str]]


def examine_record(store: RecordStore, *, backup: Path | None = None) -> RecordCheck:
    """Every chain of the record and, with a backup, every entry that the backup knows.

    Raises
    ------
    RecordProblem
        The record or the backup cannot be read.
    """
    if backup is None:
        with store.reading() as connection:
            return examined(connection)
    with open_backup(backup) as opened, store.reading() as connection:
        check = examined(connection)
        changes = _changes(connection, opened)
    return replace(check, faults=_first_of_each(check.faults, changes))


def _first_of_each(
    faults: tuple[RecordFault, ...], changes: dict[str, RecordFault]
) -> tuple[RecordFault, ...]:
    """The earlier of two in a stream; of the same entry the one that knows its id."""
    first = {fault.stream: fault for fault in faults}
    for stream, change in changes.items():
        known = first.get(stream)
        if known is None or _place(change) < _place(known):
            first[stream] = change
        elif _place(change) == _place(known) and known.id is None:
            first[stream] = replace(known, id=change.id)
    return tuple(first[stream] for stream in sorted(first, key=lambda name: name or ""))


def _place(fault: RecordFault) -> int:
    return -1 if fault.seq is None else fault.seq


def _changes(connection: Connection, backup: Backup) -> dict[str, RecordFault]:
    """The first entry of each stream that is not what the backup holds.

    Where the last one is, its chain vouches for all before it.
    """
    found = {}
    for head in backup.manifest.heads:
        if _hash_at(connection, head) != head.head_hash:
            change = _first_change(head.stream, _written(connection, head.stream), backup)
            if change is not None:
                found[head.stream] = change
    return found


def _hash_at(connection: Connection, head: StreamHead) -> str | None:
    last = (ENTRY.c.stream == head.stream) & (ENTRY.c.seq == head.entries - 1)
    return connection.execute(select(ENTRY.c.hash).where(last)).scalar_one_or_none()


def _first_change(stream: str, ours: Written, backup: Backup) -> RecordFault | None:
    for seq, (key, own_hash) in _written(backup.connection, stream).items():
        if seq not in ours:
            what = "the backup holds this entry, the record does not"
            return RecordFault(stream=stream, seq=seq, id=UUID(key), what=what)
        if ours[seq][1] != own_hash:
            what = "it is not the entry that the backup holds"
            return RecordFault(stream=stream, seq=seq, id=UUID(key), what=what)
    return None


def _written(connection: Connection, stream: str) -> Written:
    query = select(ENTRY.c.seq, ENTRY.c.id, ENTRY.c.hash).where(ENTRY.c.stream == stream)
    return {row.seq: (row.id, row.hash) for row in connection.execute(query.order_by(ENTRY.c.seq))}
