"""Sign-out: opened = implanted + wasted + returned (common practice, no source)."""

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.record.shelf_facts import (
    DeviceImplanted,
    DeviceOpened,
    DeviceReturned,
    DeviceWasted,
    PackFact,
    ShelfFact,
)
from coilwright.record.shelf_fold import fold_shelf
from coilwright.record.shelf_sign_out import SIGN_OUT_RULE, sign_out
from record.shelf_entries import BATCH, LATER, recorded

CASE = "case-1"


def opened(count: int, case: str = CASE) -> PackFact:
    return DeviceOpened(pack=BATCH, count=count, case=case)


def implanted(count: int) -> PackFact:
    return DeviceImplanted(pack=BATCH, count=count, case=CASE)


def wasted(count: int) -> PackFact:
    return DeviceWasted(pack=BATCH, count=count, reason="kinked", case=CASE)


def returned(count: int) -> PackFact:
    return DeviceReturned(pack=BATCH, count=count, case=CASE)


def signed_out(*facts: ShelfFact) -> tuple[Advisory, ...]:
    return sign_out(fold_shelf(recorded(*facts)), CASE)


def test_three_opened_and_one_each_implanted_wasted_and_returned_add_up() -> None:
    (line,) = signed_out(opened(3), implanted(1), wasted(1), returned(1))
    assert line.urgency is Urgency.INFO
    assert line.text == (
        "Every pack is accounted for: opened 3, implanted 1, wasted 1, returned 1."
    )
    assert (line.rule, line.status) == (SIGN_OUT_RULE, Status.COMMON_PRACTICE)
    assert line.source == "common practice, no source"


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (
            (opened(2), implanted(1)),
            "opened 2, implanted 1, wasted 0, returned 0: 1 is not accounted for.",
        ),
        (
            (opened(3), returned(1)),
            "opened 3, implanted 0, wasted 0, returned 1: 2 are not accounted for.",
        ),
        (
            (opened(1), implanted(1), wasted(1)),
            "opened 1, implanted 1, wasted 1, returned 0: 1 more than was opened.",
        ),
        (
            (implanted(1),),
            "implanted 1, wasted 0, returned 0, but none was opened: 1 more than was opened.",
        ),
        (
            (opened(1, "case-2"), implanted(1)),  # opened for somebody else
            "implanted 1, wasted 0, returned 0, but none was opened: 1 more than was opened.",
        ),
    ],
)
def test_what_does_not_add_up_stops_and_says_by_how_many_and_which_way(
    facts: tuple[ShelfFact, ...], words: str
) -> None:
    (stop,) = signed_out(*facts)
    assert stop.urgency is Urgency.STOP_AND_THINK
    assert stop.text == f"00400000000107, lot L1, expiry 2027-03-31: {words}"
    assert stop.inputs["pack"] == "00400000000107, lot L1, expiry 2027-03-31"


def test_one_batch_does_not_stand_in_for_another() -> None:
    other = DeviceImplanted(pack=LATER, count=1, case=CASE)
    stops = signed_out(opened(1), other)
    assert [stop.urgency for stop in stops] == [Urgency.STOP_AND_THINK] * 2
    assert "lot L1" in stops[0].text
    assert "1 is not accounted for" in stops[0].text
    assert "lot L2" in stops[1].text
    assert "none was opened" in stops[1].text


def test_a_case_in_which_nothing_was_opened_says_so() -> None:
    (line,) = signed_out(opened(1, "case-2"))
    assert line.urgency is Urgency.INFO
    assert line.text == "No device is recorded as opened in this case."
    assert line.missing == ("devices opened",)


def test_what_was_thrown_away_off_the_shelf_is_of_no_case() -> None:
    off_shelf = DeviceWasted(pack=BATCH, count=1, reason="expired")
    (line,) = signed_out(opened(1), implanted(1), off_shelf)
    assert line.inputs == {
        "case": CASE,
        "opened": "1",
        "implanted": "1",
        "wasted": "0",
        "returned": "0",
    }
