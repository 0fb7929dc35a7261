"""What stops for thought: expiry by the calendar, use by serial number, recall by lot."""

from dataclasses import replace
from datetime import date

import pytest

from coilwright.advice import Urgency
from coilwright.kit.udi import Agency, StatedDate, Udi
from coilwright.kit.udi_checks import (
    Recall,
    UsedDevice,
    check_expiry,
    check_recalled,
    check_udi,
    check_used,
)
from coilwright.kit.udi_scan import read_udi

DEVICE = Udi(
    agency=Agency.GS1,
    di="09506000134352",  # GS1's demonstration number
    raw="",
    lot="ABC",
    serial="S1",
    expiry=StatedDate(year=2027, month=2),
)
NOTICE = "Invented notice 7, 2027-01-05"
USED = UsedDevice(di="09506000134352", lot="ABC", serial="S1", where="coil opened 2027-01-04")
RECALL = Recall(di="09506000134352", lots=frozenset({"ABC", "ABD"}), source=NOTICE)


@pytest.mark.parametrize(
    ("today", "urgency", "words"),
    [
        # 2027 is no leap year: a label of 2027-02 is good until the 28th, that day included.
        (date(2027, 3, 1), Urgency.STOP_AND_THINK, "expired: its last day was 2027-02-28"),
        (date(2027, 2, 28), Urgency.CAUTION, "expires today, 2027-02-28"),
    ],
)
def test_expiry_counts_to_the_last_day_of_its_month(
    today: date, urgency: Urgency, words: str
) -> None:
    (advisory,) = check_expiry(DEVICE, today=today)
    assert advisory.urgency is urgency
    assert words in advisory.text
    assert advisory.inputs["today"] == today.isoformat()


def test_the_day_before_its_last_is_silent() -> None:
    assert check_expiry(DEVICE, today=date(2027, 2, 27)) == ()


def test_an_expiry_by_the_hour_stops_on_its_day() -> None:
    hourly = replace(DEVICE, expiry=StatedDate(year=2027, month=2, day=3, hour=16))
    (advisory,) = check_expiry(hourly, today=date(2027, 2, 3))
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "today at 16 h" in advisory.text


def test_no_expiry_is_said_and_best_before_is_not_taken_for_it() -> None:
    silent = replace(DEVICE, expiry=None, best_before=StatedDate(year=2026, month=1))
    (advisory,) = check_expiry(silent, today=date(2027, 3, 1))
    assert advisory.missing == ("expiry",)
    assert "no expiry, only best before 2026-01" in advisory.text


def test_the_same_serial_number_again_stops_and_names_the_earlier_use() -> None:
    (advisory,) = check_used(DEVICE, [USED])
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "used already: coil opened 2027-01-04" in advisory.text


@pytest.mark.parametrize("other", [replace(USED, serial="S2"), replace(USED, di="09504000059118")])
def test_another_serial_number_or_device_is_silent(other: UsedDevice) -> None:
    assert check_used(DEVICE, [other]) == ()


def test_the_same_serial_number_in_another_lot_stops_and_says_so() -> None:
    (advisory,) = check_used(DEVICE, [replace(USED, lot="XYZ")])
    assert "The lots differ (XYZ then, ABC now)" in advisory.text


def test_without_a_serial_number_earlier_use_cannot_be_told() -> None:
    (advisory,) = check_used(replace(DEVICE, serial=None), [USED])
    assert "cannot be told: the scan has no serial number" in advisory.text
    assert advisory.missing == ("serial",)


@pytest.mark.parametrize("lot", ["ABC", "abc"])
def test_a_recalled_lot_stops_with_its_notice(lot: str) -> None:
    (advisory,) = check_recalled(replace(DEVICE, lot=lot), [RECALL])
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert advisory.source == NOTICE
    assert advisory.text == f"Lot {lot} of this device is recalled."


def test_another_lot_or_device_is_not_recalled() -> None:
    assert check_recalled(replace(DEVICE, lot="ABE"), [RECALL]) == ()
    assert check_recalled(DEVICE, [replace(RECALL, di="09504000059118")]) == ()


def test_a_recall_of_every_lot_needs_no_lot() -> None:
    (advisory,) = check_recalled(replace(DEVICE, lot=None), [replace(RECALL, lots=None)])
    assert advisory.text == "This device is recalled, in every lot."
    assert advisory.missing == ()


def test_a_recalled_device_without_a_lot_stops_for_it_may_be_of_any() -> None:
    (advisory,) = check_recalled(replace(DEVICE, lot=None), [RECALL])
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert advisory.missing == ("lot",)


def test_a_recall_list_with_the_shorter_number_is_the_same_device() -> None:
    assert check_recalled(DEVICE, [replace(RECALL, di="9506000134352")])


def test_a_recall_of_no_lot_or_without_source_cannot_be_made() -> None:
    with pytest.raises(ValueError, match="a recall of no lot"):
        Recall(di="09506000134352", lots=frozenset(), source=NOTICE)
    with pytest.raises(ValueError, match="needs its source"):
        Recall(di="09506000134352", source=" ")


# The pack's fields with the group separator lost, so that lot and serial number run together.
RUN_ON = "01095060001343521728010110ABC21S9"


def test_a_recalled_lot_that_ran_into_the_next_field_stops() -> None:
    (advisory,) = check_recalled(read_udi(RUN_ON, today=date(2027, 1, 1)), [RECALL])
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "Lot ABC21S9 begins as a recalled lot does" in advisory.text


def test_a_used_serial_number_that_ran_into_the_next_field_stops() -> None:
    scan = "]d2010950600013435221S110ABC\r\n"
    (advisory,) = check_used(read_udi(scan, today=date(2027, 1, 1)), [USED])
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "Serial number S110ABC begins as one that was used already does" in advisory.text


@pytest.mark.parametrize(
    "scan",
    [
        "(01)09506000134352(10)ABC21S9",  # brackets say where a field ends
        "010950600013435210ABC21S9\x1d21S9",  # and so does a separator
        "010950600013435210ABCS9",  # no field begins behind the recalled lot
    ],
)
def test_a_lot_whose_end_is_known_is_not_suspected(scan: str) -> None:
    assert check_recalled(read_udi(scan, today=date(2027, 1, 1)), [RECALL]) == ()


def test_every_reason_stands_for_itself() -> None:
    found = check_udi(DEVICE, today=date(2027, 3, 1), used=[USED], recalls=[RECALL])
    assert [one.rule for one in found] == ["udi-expiry", "udi-used-before", "udi-recalled"]


def test_a_sound_device_gives_no_word() -> None:
    assert check_udi(DEVICE, today=date(2027, 1, 1), used=[], recalls=[]) == ()
