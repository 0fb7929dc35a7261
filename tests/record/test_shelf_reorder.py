"""Which devices are down to the count at which they are ordered."""

import datetime as dt

import pytest

from coilwright.record.shelf_facts import DeviceOpened, DeviceReceived, ReorderLevelSet
from coilwright.record.shelf_fold import fold_shelf
from coilwright.record.shelf_reorder import ToReorder, to_reorder
from record.shelf_entries import BATCH, COIL, LATER, UNDATED, WIRE, recorded

IN_DATE = dt.date(2027, 3, 31)  # the last day of BATCH; LATER lasts a year longer
TWO_AND_ONE = (DeviceReceived(pack=BATCH, count=2), DeviceReceived(pack=LATER, count=1))


def level(count: int) -> ReorderLevelSet:
    return ReorderLevelSet(di=COIL, level=count)


@pytest.mark.parametrize(("at", "ordered"), [(2, False), (3, True), (4, True)])
def test_a_device_is_ordered_at_its_level_and_below(at: int, ordered: bool) -> None:
    shelf = fold_shelf(recorded(*TWO_AND_ONE, level(at)))
    assert bool(to_reorder(shelf, IN_DATE)) is ordered


def test_expired_packs_do_not_keep_a_device_from_being_ordered() -> None:
    shelf = fold_shelf(recorded(*TWO_AND_ONE, level(1)))
    assert to_reorder(shelf, IN_DATE) == ()
    assert to_reorder(shelf, dt.date(2027, 4, 1)) == (
        ToReorder(di=COIL, usable=1, undated=0, owed=0, level=1),
    )


def test_a_device_that_was_never_received_is_ordered_even_at_level_0() -> None:
    shelf = fold_shelf(recorded(level(0)))
    assert to_reorder(shelf, IN_DATE) == (ToReorder(di=COIL, usable=0, undated=0, owed=0, level=0),)


def test_what_is_owed_and_what_states_no_expiry_is_told_beside_the_count() -> None:
    shelf = fold_shelf(
        recorded(
            DeviceReceived(pack=UNDATED, count=1),
            DeviceOpened(pack=BATCH, count=2, case="case-1"),
            level(5),
            ReorderLevelSet(di=WIRE, level=1),
        )
    )
    assert to_reorder(shelf, IN_DATE) == (
        ToReorder(di=COIL, usable=0, undated=0, owed=2, level=5),
        ToReorder(di=WIRE, usable=1, undated=1, owed=0, level=1),
    )


def test_a_device_without_a_level_is_never_listed() -> None:
    opened = DeviceOpened(pack=BATCH, count=3, case="case-1")
    assert to_reorder(fold_shelf(recorded(*TWO_AND_ONE, opened)), IN_DATE) == ()
