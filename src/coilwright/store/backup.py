"""A backup of one moment of the record, taken while others write."""

from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Table, insert, select
from sqlalchemy.exc import IntegrityError

from coilwright.store.backup_file import open_backup, write_cover
from coilwright.store.check import examined
from coilwright.store.engine import BACKUP_ID, end_writing_ahead
from coilwright.store.manifest import Manifest
from coilwright.store.open_record import new_record
from coilwright.store.placing import new_file
from coilwright.store.problems import DamagedRecord, told
from coilwright.store.record_store import RecordStore
from coilwright.store.tables import ENTRY, HEAD

ROWS_AT_ONCE = 1000


def backup_record(store: RecordStore, file: Path, *, made_at: datetime) -> Manifest:
    """Write the record as it is at one moment to a new file, whole or not at all.

    Writers go on meanwhile. The file is proven by reading it again before it appears.

    Raises
    ------
    RecordProblem
        Something is there already, the record is broken, or the file cannot be written.
    """
    with new_file(file) as draft:
        with store.reading() as source:
            _require_sound(source, store.name)
            with told(file.name), new_record(draft, BACKUP_ID) as target:
                copy_rows(source, target, store.name)
                written = write_cover(target, made_at)
        end_writing_ahead(draft)
        with open_backup(draft) as backup:
            if backup.manifest != written:
                raise DamagedRecord(file.name, "the disk did not keep what was written")
    return written


def _require_sound(source: Connection, name: str) -> None:
    faults = examined(source).faults
    if faults:
        found = f"broken in {len(faults)} place{'s' if len(faults) > 1 else ''}; no backup was made"
        raise DamagedRecord(name, found)


def copy_rows(source: Connection, target: Connection, name: str) -> None:
    """Every entry and every head, in the order in which corrections follow what they correct.

    Raises
    ------
    DamagedRecord
        The source holds what no record can hold, an id twice for one.
    """
    try:
        _copy(source, target, ENTRY)
        _copy(source, target, HEAD)
    except IntegrityError as error:
        raise DamagedRecord(name, "its entries contradict each other") from error


def _copy(source: Connection, target: Connection, table: Table) -> None:
    query = select(table).order_by(*table.primary_key.columns)
    rows = source.execute(query, execution_options={"yield_per": ROWS_AT_ONCE}).mappings()
    for some in rows.partitions():
        target.execute(insert(table), [dict(row) for row in some])
