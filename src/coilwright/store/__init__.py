"""The record kept in a database: entries appended, read, and checked."""

from coilwright.store.backup import backup_record
from coilwright.store.check import ClockStep, RecordCheck, RecordFault, check_record
from coilwright.store.examine import examine_record
from coilwright.store.heads import StreamHead
from coilwright.store.manifest import Manifest
from coilwright.store.open_record import open_record
from coilwright.store.problems import (
    AlreadyThere,
    CorrectionConflict,
    DamagedBackup,
    DamagedRecord,
    EntryConflict,
    FullDisk,
    LockedRecord,
    LostConnection,
    NewerRecord,
    NoDriver,
    NoRecord,
    NotABackup,
    NotARecord,
    ReadOnlyRecord,
    RecordProblem,
    UnfitDatabase,
    UnknownEntry,
    UnreachableRecord,
)
from coilwright.store.record_store import RecordStore
from coilwright.store.restore import restore_record

__all__ = [
    "AlreadyThere",
    "ClockStep",
    "CorrectionConflict",
    "DamagedBackup",
    "DamagedRecord",
    "EntryConflict",
    "FullDisk",
    "LockedRecord",
    "LostConnection",
    "Manifest",
    "NewerRecord",
    "NoDriver",
    "NoRecord",
    "NotABackup",
    "NotARecord",
    "ReadOnlyRecord",
    "RecordCheck",
    "RecordFault",
    "RecordProblem",
    "RecordStore",
    "StreamHead",
    "UnfitDatabase",
    "UnknownEntry",
    "UnreachableRecord",
    "backup_record",
    "check_record",
    "examine_record",
    "open_record",
    "restore_record",
]
