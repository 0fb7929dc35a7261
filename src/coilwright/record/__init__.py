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
)

__all__ = [
    "Aftercare",
    "Case",
    "CaseRun",
    "ChainFault",
    "Entry",
    "Hospital",
    "Implant",
    "Outcome",
    "Procedure",
    "UnreadableEntry",
    "canonical_json",
    "case_schema",
    "chain",
    "entry_hash",
    "first_fault",
    "fold_case",
    "load_case",
    "load_entries",
]
