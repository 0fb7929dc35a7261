"""One semen sample against the next."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Facts, Patient, SemenSample
from coilwright.assessment.semen_change import change_percent, semen_change
from coilwright.protocol import load_protocol

PROTOCOL = load_protocol()
BEFORE = SemenSample(
    date=dt.date(2026, 1, 1),
    abstinence_d=3,
    volume_ml=2.0,
    concentration_million_per_ml=10.0,
    total_motility_percent=40.0,
    progressive_motility_percent=20.0,
)
AFTER = SemenSample(
    date=dt.date(2026, 6, 1),
    abstinence_d=3,
    volume_ml=3.0,
    concentration_million_per_ml=12.0,
    total_motility_percent=50.0,
    progressive_motility_percent=30.0,
)


def changes(*samples: SemenSample) -> tuple[Advisory, ...]:
    facts = Facts(on=dt.date(2026, 7, 1), patient=Patient(id="1", name="x"), semen=samples)
    return semen_change(facts, PROTOCOL)


def of(rule: str, *samples: SemenSample) -> Advisory:
    (advisory,) = [a for a in changes(*samples) if a.rule == rule]
    return advisory


def days_after(days: int) -> SemenSample:
    return replace(AFTER, date=dt.date(2026, 1, 1) + dt.timedelta(days=days))


def test_each_quantity_has_before_after_difference_and_per_cent() -> None:
    # By hand: 2 x 10 = 20 million, 40 % is 8, 20 % is 4; 3 x 12 = 36, 50 % is 18, 30 % is 10.8.
    inputs = of("semen-change", BEFORE, AFTER).inputs
    assert [inputs[f"volume {part}"] for part in ("before", "after", "difference", "change")] == [
        "2 mL",
        "3 mL",
        "+1 mL",
        "+50 %",
    ]
    assert inputs["concentration change"] == "+20 %"
    assert inputs["total motile count before"] == "8 10^6"
    assert inputs["total motile count after"] == "18 10^6"
    assert inputs["total motile count change"] == "+125 %"
    assert inputs["progressive motile count before"] == "4 10^6"
    assert inputs["progressive motile count difference"] == "+6.8 10^6"
    assert inputs["progressive motile count change"] == "+170 %"


def test_samples_are_put_in_the_order_of_their_dates() -> None:
    assert of("semen-change", AFTER, BEFORE).inputs["volume before"] == "2 mL"


def test_three_samples_give_two_changes() -> None:
    third = replace(AFTER, date=dt.date(2026, 6, 30))
    assert [a.value for a in changes(third, AFTER, BEFORE)] == [151.0, 29.0]  # days, by hand


@pytest.mark.parametrize(
    ("days", "too_near"),
    # CLINICAL.md section 12: one spermatogenic cycle takes about 72 days.
    [(0, True), (71, True), (72, False), (73, False)],
)
def test_samples_within_one_cycle_do_not_show_a_change_made_between(
    days: int, too_near: bool
) -> None:
    advisory = of("semen-change", BEFORE, days_after(days))
    assert ("do not show the effect of a change made between them" in advisory.text) is too_near
    assert (advisory.value, advisory.limit, advisory.unit) == (float(days), 72.0, "d")
    assert advisory.status is Status.PUBLISHED


def test_nothing_before_leaves_no_per_cent() -> None:
    advisory = of("semen-change", replace(BEFORE, concentration_million_per_ml=0.0), AFTER)
    assert advisory.inputs["concentration change"] == "no per cent of nothing"
    assert advisory.inputs["progressive motile count before"] == "0 10^6"
    assert advisory.missing == ()


def test_what_is_missing_in_either_sample_is_named_and_not_compared() -> None:
    after = replace(AFTER, progressive_motility_percent=None)
    advisory = of("semen-change", replace(BEFORE, volume_ml=None), after)
    assert advisory.missing == ("semen[0].volume", "semen[1].progressive_motility")
    assert "volume before" not in advisory.inputs
    assert "progressive motile count before" not in advisory.inputs
    assert advisory.inputs["concentration change"] == "+20 %"
    assert "Not recorded: semen[0].volume" in advisory.text


def test_sample_without_date_is_compared_with_none() -> None:
    advisory = of("semen-change", BEFORE, replace(AFTER, date=None))
    assert advisory.missing == ("semen[1].date",)
    assert advisory.value is None


def test_one_sample_alone_says_that_a_second_is_usual() -> None:
    (advisory,) = changes(BEFORE)
    assert advisory.rule == "semen-second-sample"
    assert advisory.urgency is Urgency.INFO
    assert "a second is usual" in advisory.text


def test_no_sample_says_nothing() -> None:
    assert changes() == ()


@pytest.mark.parametrize("abstinence_d", [2.0, 5.0, 7.0])
def test_same_abstinence_within_the_range_says_nothing(abstinence_d: float) -> None:
    # WHO manual, 2 to 7 days (from memory).
    same = [replace(one, abstinence_d=abstinence_d) for one in (BEFORE, AFTER)]
    assert [a.rule for a in changes(*same)] == ["semen-change"]


@pytest.mark.parametrize("abstinence_d", [1.9, 7.1])
def test_abstinence_outside_the_range_is_a_caution_until_signed_off(
    abstinence_d: float,
) -> None:
    same = tuple(replace(one, abstinence_d=abstinence_d) for one in (BEFORE, AFTER))
    advisory = of("semen-abstinence", *same)
    assert f"{abstinence_d:g} d outside 2 to 7 d" in advisory.text
    assert advisory.urgency is Urgency.CAUTION
    assert advisory.status is Status.FROM_MEMORY
    assert "not signed off by the site" in advisory.text
    alone = of("semen-abstinence", same[0])
    assert "with the reference limits" in alone.text


def test_abstinence_that_differs_makes_a_comparison_unsafe() -> None:
    advisory = of("semen-abstinence", BEFORE, replace(AFTER, abstinence_d=4))
    assert "unsafe to compare" in advisory.text
    assert "it differs" in advisory.text
    assert advisory.inputs == {"semen[0].abstinence": "3 d", "semen[1].abstinence": "4 d"}
    # The range from memory is not leant on here, so nothing asks for a sign-off.
    assert advisory.status is Status.COMMON_PRACTICE


def test_missing_abstinence_makes_a_comparison_unsafe() -> None:
    advisory = of("semen-abstinence", BEFORE, replace(AFTER, abstinence_d=None))
    assert advisory.missing == ("semen[1].abstinence",)
    assert advisory.inputs["semen[1].abstinence"] == "not recorded"


@given(st.floats(0.1, 500), st.floats(0.1, 500))
def test_change_back_undoes_the_change_there(before: float, after: float) -> None:
    # (1 + there/100) x (1 + back/100) = 1 for any two amounts.
    there, back = change_percent(before, after), change_percent(after, before)
    assert there is not None
    assert back is not None
    assert (1 + there / 100) * (1 + back / 100) == pytest.approx(1.0, rel=1e-9)
