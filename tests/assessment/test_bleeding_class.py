"""The site's class of bleeding risk: other limits, haemoglobin asked, a bleeding disorder."""

import datetime as dt
from pathlib import Path

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import (
    BloodResult,
    Bloods,
    Conditions,
    Facts,
    InrResult,
    Medication,
    Patient,
)
from coilwright.assessment.bleeding import bleeding_disorder, bleeding_risk
from coilwright.protocol import Protocol, load_protocol
from coilwright.units import QuantityKind, parse_quantity

PROTOCOL = load_protocol()
HIGH = (
    '[choices.bleeding-risk-class]\nvalue = "high"\nwhy = "w"\nchanged_by = "Dr Invented"\n'
    "changed_on = 2026-02-03\n"
)


@pytest.fixture(scope="module")
def high(tmp_path_factory: pytest.TempPathFactory) -> Protocol:
    file: Path = tmp_path_factory.mktemp("site") / "site.toml"
    file.write_text(HIGH, encoding="utf-8")
    return load_protocol(file)


def facts(
    bloods: Bloods | None = None,
    anticoagulant: str | None = None,
    disorder: bool | None = None,
) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x"),
        bloods=bloods or Bloods(),
        medication=Medication(anticoagulant=anticoagulant),
        conditions=Conditions(bleeding_disorder=disorder),
    )


def result(typed: str, kind: QuantityKind) -> BloodResult:
    return BloodResult(value=parse_quantity(typed, kind))


def by_rule(advisories: tuple[Advisory, ...], rule: str) -> Advisory:
    (advisory,) = [a for a in advisories if a.rule == rule]
    return advisory


@pytest.mark.parametrize(
    ("inr", "urgency"),
    # CLINICAL.md 5.4, SIR 2019, high risk: corrected to 1.5-1.8 or less.
    [
        (1.5, Urgency.INFO),
        (1.6, Urgency.CAUTION),
        (1.8, Urgency.CAUTION),
        (1.9, Urgency.STOP_AND_THINK),
    ],
)
def test_inr_at_high_risk_follows_the_stricter_range(
    high: Protocol, inr: float, urgency: Urgency
) -> None:
    advisories = bleeding_risk(facts(Bloods(inr=InrResult(value=inr))), high)
    advisory = by_rule(advisories, "inr-high-risk")
    assert (advisory.urgency, advisory.limit) == (urgency, 1.8)
    assert advisory.status is Status.PUBLISHED
    assert "the site counts it as high risk" in advisory.text


@pytest.mark.parametrize(
    ("typed", "urgency"),
    # CLINICAL.md 5.4, SIR 2019, high risk: given below 50.
    [("49 10^9/L", Urgency.STOP_AND_THINK), ("50 10^9/L", Urgency.INFO)],
)
def test_platelets_at_high_risk_are_wanted_at_fifty(
    high: Protocol, typed: str, urgency: Urgency
) -> None:
    bloods = Bloods(platelets=result(typed, QuantityKind.BLOOD_CELLS))
    advisory = by_rule(bleeding_risk(facts(bloods), high), "platelets-high-risk")
    assert (advisory.urgency, advisory.limit) == (urgency, 50.0)


def test_inr_of_a_patient_on_a_direct_anticoagulant_says_what_it_does_not_show() -> None:
    def inr(drug: str) -> Advisory:
        base = facts(Bloods(inr=InrResult(value=1.0)), anticoagulant=drug)
        return by_rule(bleeding_risk(base, load_protocol()), "inr-low-risk")

    assert "It does not show how much apixaban is at work." in inr("apixaban").text
    assert inr("apixaban").status is Status.COMMON_PRACTICE
    assert "does not show" not in inr("warfarin").text


def test_haemoglobin_at_high_risk_is_asked_for_and_never_judged(high: Protocol) -> None:
    missing = by_rule(bleeding_risk(facts(), high), "haemoglobin-high-risk")
    assert (missing.missing, missing.urgency) == (("bloods.haemoglobin",), Urgency.CAUTION)
    bloods = Bloods(haemoglobin=result("7.1 g/dL", QuantityKind.HAEMOGLOBIN))
    recorded = by_rule(bleeding_risk(facts(bloods), high), "haemoglobin-high-risk")
    assert (recorded.value, recorded.unit, recorded.limit) == (7.1, "g/dL", None)
    assert "no published threshold is held here" in recorded.text


def test_high_risk_screens_everybody_even_without_an_anticoagulant(high: Protocol) -> None:
    # CLINICAL.md 5.4: PT/INR, platelets and Hb are screened at high risk, not routinely at low.
    case = facts(anticoagulant="none")
    assert {a.urgency for a in bleeding_risk(case, high)} == {Urgency.CAUTION}
    assert {a.urgency for a in bleeding_risk(case, PROTOCOL)} == {Urgency.INFO}


def test_rules_of_one_class_never_speak_in_the_other(high: Protocol) -> None:
    assert [a.rule for a in bleeding_risk(facts(), PROTOCOL)] == [
        "inr-low-risk",
        "platelets-low-risk",
    ]
    assert [a.rule for a in bleeding_risk(facts(), high)] == [
        "inr-high-risk",
        "platelets-high-risk",
        "haemoglobin-high-risk",
    ]


@pytest.mark.parametrize("typed", ["something", "warfarin stopped", "apixaban"])
def test_words_that_do_not_say_none_keep_a_missing_inr_loud(typed: str) -> None:
    advisory = by_rule(bleeding_risk(facts(anticoagulant=typed), PROTOCOL), "inr-low-risk")
    assert advisory.urgency is Urgency.CAUTION
    assert "Anticoagulant: none" not in advisory.text


def test_bleeding_disorder_keeps_a_missing_inr_loud() -> None:
    # CLINICAL.md 5.4: screening at low risk is wanted with a bleeding risk.
    case = facts(anticoagulant="none", disorder=True)
    assert by_rule(bleeding_risk(case, PROTOCOL), "inr-low-risk").urgency is Urgency.CAUTION


@pytest.mark.parametrize(
    ("answer", "urgency", "missing"),
    [
        (True, Urgency.STOP_AND_THINK, ()),
        (False, Urgency.INFO, ()),
        (None, Urgency.CAUTION, ("conditions.bleeding_disorder",)),
    ],
)
def test_bleeding_disorder_is_raised_cleared_or_asked_for(
    answer: bool | None, urgency: Urgency, missing: tuple[str, ...]
) -> None:
    advisory = by_rule(bleeding_disorder(facts(disorder=answer)), "bleeding-disorder")
    assert (advisory.urgency, advisory.missing) == (urgency, missing)
