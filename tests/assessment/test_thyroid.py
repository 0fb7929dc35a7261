"""Contrast and the thyroid: from memory (no primary text); asking is common practice."""

import datetime as dt

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import Conditions, Facts, Patient
from coilwright.assessment.thyroid import thyroid_contrast
from coilwright.protocol import load_protocol

PROTOCOL = load_protocol()
CLEAR = {
    "hyperthyroidism": False,
    "thyroid_nodules_or_goitre": False,
    "radioiodine_planned": False,
}


def said(**answers: bool | None) -> Advisory:
    conditions = Conditions(**{**CLEAR, **answers})  # type: ignore[arg-type]  # named per test
    facts = Facts(on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"), conditions=conditions)
    (advisory,) = thyroid_contrast(facts, PROTOCOL)
    assert advisory.rule == "thyroid-contrast"
    return advisory


@pytest.mark.parametrize(
    ("answer", "urgency", "words"),
    [
        ("hyperthyroidism", Urgency.STOP_AND_THINK, "Manifest hyperthyroidism"),
        ("thyroid_nodules_or_goitre", Urgency.CAUTION, "nodules or goitre"),
        ("radioiodine_planned", Urgency.CAUTION, "for 8 weeks after contrast"),
    ],
)
def test_each_thyroid_answer_speaks_in_its_urgency_from_memory(
    answer: str, urgency: Urgency, words: str
) -> None:
    advisory = said(**{answer: True})
    assert (advisory.urgency, advisory.status) == (urgency, Status.FROM_MEMORY)
    assert words in advisory.text


def test_unsigned_weeks_are_pointed_out_only_where_they_are_used() -> None:
    unsigned = "not signed off by the site"
    assert unsigned in said(radioiodine_planned=True).text
    assert unsigned not in said(thyroid_nodules_or_goitre=True).text


def test_loudest_answer_wins_and_all_are_told() -> None:
    advisory = said(hyperthyroidism=True, radioiodine_planned=True)
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "Radioiodine planned" in advisory.text


def test_all_answered_no_is_quiet_and_stands_on_no_memory() -> None:
    advisory = said()
    assert (advisory.urgency, advisory.status) == (Urgency.INFO, Status.COMMON_PRACTICE)


@pytest.mark.parametrize("unasked", list(CLEAR))
def test_unasked_is_not_recorded_and_never_no(unasked: str) -> None:
    advisory = said(**{unasked: None})
    assert advisory.missing == (f"conditions.{unasked}",)
    assert advisory.urgency is Urgency.CAUTION
    assert advisory.inputs[unasked.replace("_", " ")] == "not recorded"
