"""What a case opened or implanted stops a second scan of the same serial number."""

import datetime as dt
from dataclasses import replace

from coilwright.advice import Urgency
from coilwright.kit import check_udi, read_udi
from coilwright.record.shelf_facts import (
    DeviceImplanted,
    DeviceOpened,
    DeviceReceived,
    DeviceReturned,
    EntryWithdrawn,
)
from coilwright.record.shelf_fold import fold_shelf
from coilwright.record.shelf_pack import pack_of
from coilwright.record.shelf_used import used_devices
from record.shelf_entries import BATCH, ONE, recorded

OPENED = DeviceOpened(pack=ONE, count=1, case="case-1")
IMPLANTED = DeviceImplanted(pack=ONE, count=1, case="case-1")
RETURNED = DeviceReturned(pack=ONE, count=1, case="case-1")


def test_an_opened_device_is_used_and_the_case_and_time_are_named() -> None:
    (used,) = used_devices(fold_shelf(recorded(OPENED)))
    assert (used.di, used.serial, used.lot) == ("00400000000107", "S1", "L1")
    assert used.where == "opened in case case-1, 2026-03-12 00:00 UTC"


def test_an_implanted_device_is_named_once_as_implanted() -> None:
    (used,) = used_devices(fold_shelf(recorded(OPENED, IMPLANTED)))
    assert used.where == "implanted in case case-1, 2026-03-12 00:01 UTC"


def test_an_implant_whose_opening_was_never_booked_is_used_too() -> None:
    assert len(used_devices(fold_shelf(recorded(IMPLANTED)))) == 1


def test_a_device_that_went_back_unused_may_be_used() -> None:
    assert used_devices(fold_shelf(recorded(OPENED, RETURNED))) == ()


def test_a_device_opened_again_after_it_went_back_is_used() -> None:
    again = replace(OPENED, case="case-2")
    (used,) = used_devices(fold_shelf(recorded(OPENED, RETURNED, again)))
    assert "case-2" in used.where


def test_an_opening_that_was_withdrawn_uses_nothing() -> None:
    (entry,) = recorded(OPENED)
    slip = EntryWithdrawn(entry=entry.id, why="wrong case")
    assert used_devices(fold_shelf(recorded(OPENED, slip))) == ()


def test_what_lies_on_the_shelf_or_has_no_serial_number_is_not_listed() -> None:
    on_shelf = DeviceReceived(pack=ONE, count=1)
    without = DeviceOpened(pack=BATCH, count=1, case="case-1")
    assert used_devices(fold_shelf(recorded(on_shelf, without))) == ()


def test_the_second_scan_of_a_pack_that_was_opened_stops() -> None:
    # FDA's worked example of a GS1 element string (CLINICAL 8.1).
    today = dt.date(2015, 1, 1)
    udi = read_udi("(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234", today=today)
    shelf = fold_shelf(recorded(DeviceOpened(pack=pack_of(udi), count=1, case="case-1")))
    (stop,) = check_udi(udi, today=today, used=used_devices(shelf), recalls=())
    assert (stop.rule, stop.urgency) == ("udi-used-before", Urgency.STOP_AND_THINK)
    assert "opened in case case-1" in stop.text
