"""The published document of the shelf."""

import json
from uuid import UUID

from jsonschema import Draft202012Validator
from pydantic import TypeAdapter

from coilwright.record.shelf import Shelf
from coilwright.record.shelf_facts import (
    DeviceOpened,
    DeviceReceived,
    EntryWithdrawn,
    ReorderLevelSet,
)
from coilwright.record.shelf_fold import fold_shelf
from coilwright.record.shelf_json import shelf_to_json
from record.shelf_entries import BATCH, COIL, recorded

SHELF = fold_shelf(
    recorded(
        DeviceReceived(pack=BATCH, count=1),
        DeviceOpened(pack=BATCH, count=3, case="case-1"),
        ReorderLevelSet(di=COIL, level=2),
        DeviceReceived(pack=BATCH, count=4),
        EntryWithdrawn(entry=UUID(int=4), why="scanned twice"),
    )
)


def test_the_document_begins_with_its_format_and_version() -> None:
    document = json.loads(shelf_to_json(SHELF))
    assert list(document)[:2] == ["format", "version"]
    assert (document["format"], document["version"]) == ("coilwright.shelf", 1)


def test_the_document_holds_what_was_folded() -> None:
    document = json.loads(shelf_to_json(SHELF))
    (batch,) = document["batches"]
    assert (batch["on_shelf"], batch["owed"]) == (0, 2)
    assert batch["pack"] == {"di": COIL, "lot": "L1", "serial": None, "expiry": "2027-03-31"}
    assert batch["entries"] == [str(UUID(int=1)), str(UUID(int=2))]
    (use,) = document["case_uses"]
    assert (use["case"], use["opened"], use["opened_at"]) == ("case-1", 3, "2026-03-12T00:01:00Z")
    assert document["reorder_levels"][0]["level"] == 2
    assert document["withdrawn"][0]["why"] == "scanned twice"


def test_an_empty_shelf_is_a_document_too() -> None:
    assert json.loads(shelf_to_json(Shelf()))["batches"] == []


def test_the_document_keeps_its_own_schema() -> None:
    schema = TypeAdapter(Shelf).json_schema(mode="serialization")
    Draft202012Validator(schema).validate(json.loads(shelf_to_json(SHELF)))
