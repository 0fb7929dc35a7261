"""The record kept in a database: entries appended, read, and checked."""

from coilwright.store.check import RecordFault, check_record
from coilwright.store.open_record import open_record
from coilwright.store.problems import (
    CorrectionConflict,
    DamagedRecord,
    EntryConflict,
    FullDisk,
    LockedRecord,
    NewerRecord,
    NoRecord,
    NotARecord,
    ReadOnlyRecord,
    RecordProblem,
    UnknownEntry,
    UnreachableRecord,
)
from coilwright.store.record_store import RecordStore, StreamHead

__all__ = [
    "CorrectionConflict",
    "DamagedRecord",
    "EntryConflict",
    "FullDisk",
    "LockedRecord",
    "NewerRecord",
    "NoRecord",
    "NotARecord",
    "ReadOnlyRecord",
    "RecordFault",
    "RecordProblem",
    "RecordStore",
    "StreamHead",
    "UnknownEntry",
    "UnreachableRecord",
    "check_record",
    "open_record",
]
