"""Bleeding risk by analogy, age of blood results, age."""

import datetime as dt

import pytest

from coilwright.advice import Advisory, Urgency
from coilwright.assessment import (
    BloodResult,
    Bloods,
    Facts,
    InrResult,
    Medication,
    Patient,
)
from coilwright.assessment.age import age_on_the_day, age_years
from coilwright.assessment.bleeding import bleeding_risk
from coilwright.assessment.bloods_age import bloods_age
from coilwright.protocol import load_protocol
from coilwright.units import QuantityKind, parse_quantity

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)


def facts(
    bloods: Bloods | None = None,
    medication: Medication | None = None,
) -> Facts:
    return Facts(
        on=ON,
        patient=Patient(id="1", name="x"),
        bloods=bloods or Bloods(),
        medication=medication or Medication(),
    )


def platelets(typed: str) -> Bloods:
    return Bloods(platelets=BloodResult(value=parse_quantity(typed, QuantityKind.BLOOD_CELLS)))


def by_rule(advisories: tuple[Advisory, ...], rule: str) -> Advisory:
    (advisory,) = [a for a in advisories if a.rule == rule]
    return advisory


@pytest.mark.parametrize(
    ("inr", "urgency"),
    # CLINICAL.md 5.4, SIR 2019, low risk: corrected to 2.0-3.0 or less.
    [
        (2.0, Urgency.INFO),
        (2.1, Urgency.CAUTION),
        (3.0, Urgency.CAUTION),
        (3.1, Urgency.STOP_AND_THINK),
    ],
)
def test_inr_follows_the_consensus_by_analogy(inr: float, urgency: Urgency) -> None:
    advisory = by_rule(
        bleeding_risk(facts(Bloods(inr=InrResult(value=inr))), PROTOCOL), "inr-low-risk"
    )
    assert advisory.urgency is urgency
    assert "By analogy: the consensus does not name gonadal vein embolisation" in advisory.text


@pytest.mark.parametrize(
    ("typed", "urgency"),
    # CLINICAL.md 5.4: below 20 by SIR 2019, below 50 by an older guide.
    [
        ("19 10^9/L", Urgency.STOP_AND_THINK),
        ("20 10^9/L", Urgency.CAUTION),
        ("49999 /uL", Urgency.CAUTION),
        ("50 10^9/L", Urgency.INFO),
    ],
)
def test_platelets_follow_the_consensus_by_analogy(typed: str, urgency: Urgency) -> None:
    advisory = by_rule(bleeding_risk(facts(platelets(typed)), PROTOCOL), "platelets-low-risk")
    assert advisory.urgency is urgency


def test_missing_bloods_are_named_and_weigh_more_when_nobody_asked_about_anticoagulants() -> None:
    unasked = bleeding_risk(facts(), PROTOCOL)
    asked = bleeding_risk(facts(medication=Medication(anticoagulant="none")), PROTOCOL)
    assert {a.missing for a in unasked} == {("bloods.inr",), ("bloods.platelets",)}
    assert {a.urgency for a in unasked} == {Urgency.CAUTION}
    assert {a.urgency for a in asked} == {Urgency.INFO}


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (dt.date(2025, 12, 12), None),  # 90 days before the day: not more than the site accepts
        (dt.date(2025, 12, 11), "91 days old"),
        (None, "not recorded: bloods.inr.date"),
    ],
)
def test_old_or_undated_blood_result_is_pointed_out(day: dt.date | None, said: str | None) -> None:
    advisories = bloods_age(facts(Bloods(inr=InrResult(value=1.0, date=day))), PROTOCOL)
    assert [said in a.text for a in advisories if said] == ([True] if said else [])
    assert len(advisories) == (1 if said else 0)


@pytest.mark.parametrize(
    ("born", "on", "age"),
    # By the calendar.
    [
        (dt.date(1994, 9, 3), dt.date(2026, 9, 2), 31),
        (dt.date(1994, 9, 3), dt.date(2026, 9, 3), 32),
        (dt.date(2008, 2, 29), dt.date(2026, 2, 28), 17),
        (dt.date(2008, 2, 29), dt.date(2026, 3, 1), 18),
        (dt.date(2026, 3, 12), dt.date(2026, 3, 12), 0),
    ],
)
def test_age_counts_completed_years(born: dt.date, on: dt.date, age: int) -> None:
    assert age_years(born, on) == age


def test_age_before_birth_is_refused_or_unknown() -> None:
    with pytest.raises(ValueError, match="the day lies before the birth"):
        age_years(dt.date(2026, 1, 2), dt.date(2026, 1, 1))
    assert age_on_the_day(dt.date(2026, 1, 2), dt.date(2026, 1, 1)) is None
