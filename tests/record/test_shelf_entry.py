"""Facts of the shelf as entries, and what is no entry of the shelf."""

import datetime as dt
from dataclasses import replace
from uuid import UUID

import pytest
from hypothesis import given

from coilwright.record.case_fold import UnreadableEntry
from coilwright.record.shelf_entry import SHELF, SHELF_KINDS, shelf_fact
from coilwright.record.shelf_facts import Despite, DeviceReceived, ShelfFact
from record.shelf_entries import BATCH, entry_at, facts

DESPITE = Despite(reason="no other left", rules=("udi-expiry",))
RECEIVED = DeviceReceived(pack=BATCH, count=2, scan="01004\x1d", despite=DESPITE)


@given(facts)
def test_an_entry_gives_back_the_fact_that_it_was_made_of(fact: ShelfFact) -> None:
    entry = entry_at(0, fact)
    assert shelf_fact(entry) == fact
    assert type(fact) is SHELF_KINDS[entry.kind]


def test_an_entry_holds_plain_values_only() -> None:
    entry = entry_at(0, RECEIVED)
    assert (entry.stream, entry.kind) == (SHELF, "device_received")
    assert entry.payload == {
        "pack": {"di": "00400000000107", "lot": "L1", "serial": None, "expiry": "2027-03-31"},
        "count": 2,
        "scan": "01004\x1d",
        "despite": {"reason": "no other left", "rules": ["udi-expiry"]},
    }


def test_a_draft_keeps_who_and_when() -> None:
    entry = entry_at(7, RECEIVED)
    assert entry.id == UUID(int=8)
    assert entry.at == dt.datetime(2026, 3, 12, 0, 7, tzinfo=dt.UTC)
    assert entry.recorded_at == dt.datetime(2026, 3, 13, tzinfo=dt.UTC)
    assert entry.author == "Nurse Invented"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"count": 0}, r"\(device_received\): count: 0 is not possible; give a whole number"),
        ({"count": "2"}, "count: input should be a valid integer"),
        ({"count": True}, "count: input should be a valid integer"),
        ({"counts": 2}, "counts: unexpected keyword argument"),
        ({"pack": {"di": "12"}}, "di: '12' is no device identifier"),
        ({"pack": {"di": "00400000000107", "lots": "L1"}}, "pack.lots: unexpected"),
    ],
)
def test_a_payload_that_its_kind_does_not_hold_is_refused(
    change: dict[str, object], sentence: str
) -> None:
    entry = entry_at(0, RECEIVED)
    broken = replace(entry, payload={**entry.payload, **change})
    with pytest.raises(UnreadableEntry, match=sentence):
        shelf_fact(broken)


def test_an_entry_of_a_case_is_none_of_the_shelf() -> None:
    with pytest.raises(UnreadableEntry, match="no entries of the kind coil_placed"):
        shelf_fact(replace(entry_at(0, RECEIVED), kind="coil_placed"))
