"""Entries, the chain that binds them, and the case that they add up to."""

from coilwright.record.case import (
    Aftercare,
    Case,
    CaseRun,
    Hospital,
    Implant,
    Outcome,
    Procedure,
)
from coilwright.record.case_file import load_case, load_entries
from coilwright.record.case_fold import UnreadableEntry, fold_case
from coilwright.record.case_schema import case_schema
from coilwright.record.entry import (
    ChainFault,
    Entry,
    canonical_json,
    chain,
    entry_hash,
    first_fault,
    sealed,
)
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
from coilwright.record.shelf_sign_out import sign_out
from coilwright.record.shelf_used import used_devices

__all__ = [
    "SHELF",
    "Aftercare",
    "Batch",
    "Case",
    "CaseRun",
    "CaseUse",
    "ChainFault",
    "Despite",
    "DeviceImplanted",
    "DeviceOpened",
    "DeviceReceived",
    "DeviceReturned",
    "DeviceWasted",
    "Entry",
    "EntryWithdrawn",
    "Expiring",
    "Hospital",
    "Implant",
    "Outcome",
    "Pack",
    "Procedure",
    "RecalledBatch",
    "ReorderLevel",
    "ReorderLevelSet",
    "Shelf",
    "ShelfAdjusted",
    "ShelfCounted",
    "ShelfFact",
    "ToReorder",
    "UnreadableEntry",
    "Withdrawn",
    "batches_by_di",
    "canonical_json",
    "case_schema",
    "chain",
    "check_receipt",
    "entry_hash",
    "expires_before",
    "first_fault",
    "fold_case",
    "fold_shelf",
    "load_case",
    "load_entries",
    "pack_of",
    "packs_from_csv",
    "recalled_batches",
    "sealed",
    "shelf_entry",
    "shelf_fact",
    "shelf_to_csv",
    "shelf_to_json",
    "sign_out",
    "stocked_kit",
    "stops",
    "to_reorder",
    "udi_of",
    "used_devices",
]
