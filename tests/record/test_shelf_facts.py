"""Facts of the shelf are valid once built."""

import re
from uuid import UUID

import pytest

from coilwright.record.shelf_facts import (
    Despite,
    DeviceOpened,
    DeviceReceived,
    DeviceWasted,
    EntryWithdrawn,
    ImpossibleShelfFact,
    ReorderLevelSet,
    ShelfAdjusted,
    ShelfCounted,
)
from record.shelf_entries import BATCH, COIL, ONE


@pytest.mark.parametrize(
    ("build", "sentence"),
    [
        (lambda: DeviceReceived(pack=BATCH, count=0), "count: 0 is not possible; give a whole"),
        (lambda: DeviceReceived(pack=BATCH, count=-1), "count: -1 is not possible"),
        # A GTIN scanned into the field of the number.
        (lambda: DeviceReceived(pack=BATCH, count=400000000107), "from 1 to 9999"),
        (lambda: DeviceReceived(pack=ONE, count=2), "count: 2 packs with one serial number; enter"),
        (lambda: DeviceOpened(pack=BATCH, count=1, case=" "), "case: empty; say it in words"),
        (lambda: DeviceWasted(pack=BATCH, count=1, reason=""), "reason: empty"),
        (lambda: DeviceWasted(pack=BATCH, count=1, reason="torn", case=""), "case: empty"),
        (lambda: ShelfCounted(pack=BATCH, count=-1), "count: -1 is not possible; give a whole"),
        (lambda: ShelfAdjusted(pack=BATCH, change=0, reason="x"), "change: 0 changes nothing"),
        (lambda: ShelfAdjusted(pack=ONE, change=-2, reason="x"), "change: 2 packs with one serial"),
        (lambda: ShelfAdjusted(pack=BATCH, change=1, reason=""), "reason: empty"),
        (lambda: ReorderLevelSet(di=COIL, level=-1), "level: -1 is not possible"),
        (lambda: Despite(reason="", rules=("udi-expiry",)), "despite.reason: empty"),
        (lambda: Despite(reason="last one", rules=()), "despite.rules: empty; name the rules"),
        (lambda: EntryWithdrawn(entry=UUID(int=1), why=" "), "why: empty"),
    ],
)
def test_a_fact_that_cannot_be_so_names_field_and_mend(build: object, sentence: str) -> None:
    with pytest.raises(ImpossibleShelfFact, match=re.escape(sentence)):
        build()  # type: ignore[operator]  # one of the lambdas above


def test_a_count_of_the_shelf_may_be_none_at_all() -> None:
    assert ShelfCounted(pack=BATCH, count=0).count == 0


def test_a_reorder_level_is_of_a_device_that_can_exist() -> None:
    with pytest.raises(ValueError, match="di: 'coils' is no device identifier"):
        ReorderLevelSet(di="coils", level=1)
