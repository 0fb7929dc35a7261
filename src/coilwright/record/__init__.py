"""Entries, the chain that binds them, and the case that they add up to."""

from coilwright.record.amending import correction_of, withdrawal_of
from coilwright.record.amendments import EntryCorrected
from coilwright.record.case import (
    Aftercare,
    Case,
    CaseRun,
    Hospital,
    Implant,
    Outcome,
    Procedure,
)
from coilwright.record.case_entry import case_entry, fact_of
from coilwright.record.case_file import load_case, load_entries
from coilwright.record.case_fold import fold_case
from coilwright.record.case_kinds import CASE_KINDS, Counting, EntryKind, KindChapter
from coilwright.record.case_schema import case_schema
from coilwright.record.complication_schemes import SCHEMES, ComplicationScheme, Grade, SchemeRow
from coilwright.record.entry import (
    ChainFault,
    Entry,
    canonical_json,
    chain,
    entry_hash,
    first_fault,
    sealed,
)
from coilwright.record.entry_payload import UnreadableEntry, payload_of
from coilwright.record.room import Coil, DeviceTotals, Room, RoomTotals, Trouble
from coilwright.record.room_closing import (
    FollowedUp,
    HaemostasisReached,
    NoteWritten,
    PatientDischarged,
    SignOutCounted,
)
from coilwright.record.room_coils import CoilMoved, CoilRetrieved
from coilwright.record.room_findings import FindingMade, SpasmSeen, ValsalvaHeld
from coilwright.record.room_fold import fold_room, since_coils_changed
from coilwright.record.room_medication import DoseUnit, MedicationGiven
from coilwright.record.room_pictures import DocumentReference, MapEdited, MapMeasured
from coilwright.record.room_preparation import Answer, ChecklistCompleted, ChecklistItem
from coilwright.record.room_sign_out import CountDiffers, counted_otherwise
from coilwright.record.room_troubles import ComplicationGraded, TroubleSeen, TroubleSettled
from coilwright.record.room_way import AccessGained, CatheterPositioned
from coilwright.record.settled import Amendment, Line, Loose, Settled
from coilwright.record.settling import settle
from coilwright.record.shelf import Batch, CaseUse, ReorderLevel, Shelf, Withdrawn, batches_by_di
from coilwright.record.shelf_csv import packs_from_csv, shelf_to_csv
from coilwright.record.shelf_entry import SHELF, shelf_entry, shelf_fact
from coilwright.record.shelf_expiry import Expiring, expires_before
from coilwright.record.shelf_facts import (
    Despite,
    DeviceImplanted,
    DeviceOpened,
    DeviceReceived,
    DeviceReturned,
    DeviceWasted,
    EntryWithdrawn,
    ReorderLevelSet,
    ShelfAdjusted,
    ShelfCounted,
    ShelfFact,
)
from coilwright.record.shelf_fold import fold_shelf
from coilwright.record.shelf_json import shelf_to_json
from coilwright.record.shelf_kit import stocked_kit
from coilwright.record.shelf_pack import Pack, pack_of
from coilwright.record.shelf_recalls import RecalledBatch, recalled_batches
from coilwright.record.shelf_receipt import check_receipt, stops, udi_of
from coilwright.record.shelf_reorder import ToReorder, to_reorder
from coilwright.record.shelf_sign_out import sign_out, sign_out_of
from coilwright.record.shelf_twins import shelf_twins
from coilwright.record.shelf_used import used_devices
from coilwright.record.stated import ImpossibleFact

__all__ = [
    "CASE_KINDS",
    "SCHEMES",
    "SHELF",
    "AccessGained",
    "Aftercare",
    "Amendment",
    "Answer",
    "Batch",
    "Case",
    "CaseRun",
    "CaseUse",
    "CatheterPositioned",
    "ChainFault",
    "ChecklistCompleted",
    "ChecklistItem",
    "Coil",
    "CoilMoved",
    "CoilRetrieved",
    "ComplicationGraded",
    "ComplicationScheme",
    "CountDiffers",
    "Counting",
    "Despite",
    "DeviceImplanted",
    "DeviceOpened",
    "DeviceReceived",
    "DeviceReturned",
    "DeviceTotals",
    "DeviceWasted",
    "DocumentReference",
    "DoseUnit",
    "Entry",
    "EntryCorrected",
    "EntryKind",
    "EntryWithdrawn",
    "Expiring",
    "FindingMade",
    "FollowedUp",
    "Grade",
    "HaemostasisReached",
    "Hospital",
    "Implant",
    "ImpossibleFact",
    "KindChapter",
    "Line",
    "Loose",
    "MapEdited",
    "MapMeasured",
    "MedicationGiven",
    "NoteWritten",
    "Outcome",
    "Pack",
    "PatientDischarged",
    "Procedure",
    "RecalledBatch",
    "ReorderLevel",
    "ReorderLevelSet",
    "Room",
    "RoomTotals",
    "SchemeRow",
    "Settled",
    "Shelf",
    "ShelfAdjusted",
    "ShelfCounted",
    "ShelfFact",
    "SignOutCounted",
    "SpasmSeen",
    "ToReorder",
    "Trouble",
    "TroubleSeen",
    "TroubleSettled",
    "UnreadableEntry",
    "ValsalvaHeld",
    "Withdrawn",
    "batches_by_di",
    "canonical_json",
    "case_entry",
    "case_schema",
    "chain",
    "check_receipt",
    "correction_of",
    "counted_otherwise",
    "entry_hash",
    "expires_before",
    "fact_of",
    "first_fault",
    "fold_case",
    "fold_room",
    "fold_shelf",
    "load_case",
    "load_entries",
    "pack_of",
    "packs_from_csv",
    "payload_of",
    "recalled_batches",
    "sealed",
    "settle",
    "shelf_entry",
    "shelf_fact",
    "shelf_to_csv",
    "shelf_to_json",
    "shelf_twins",
    "sign_out",
    "sign_out_of",
    "since_coils_changed",
    "stocked_kit",
    "stops",
    "to_reorder",
    "udi_of",
    "used_devices",
    "withdrawal_of",
]
