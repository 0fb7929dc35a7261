"""The assessment in lines of text."""

import datetime as dt

import pytest

from coilwright.advice import DISCLAIMER
from coilwright.assessment import Facts, Patient, Referral, assessment_of
from coilwright.documents import assessment_lines
from coilwright.protocol import load_protocol
from coilwright.veins import Side

FACTS = Facts(
    on=dt.date(2026, 3, 12),
    patient=Patient(id="1", name="x"),
    referral=Referral(sides=(Side.LEFT,)),
)


@pytest.mark.parametrize("width", [60, 80, 110])
def test_no_line_is_wider_than_asked(width: int) -> None:
    lines = assessment_lines(assessment_of("c", FACTS, load_protocol()), width)
    assert max(len(line) for line in lines) <= width


def test_every_advisory_stands_there_once_with_its_rule_status_and_source() -> None:
    assessment = assessment_of("c", FACTS, load_protocol())
    flat = " ".join(" ".join(assessment_lines(assessment, 100)).split())
    for advisory in assessment.advisories:
        assert " ".join(advisory.text.split()) in flat
        assert f"] {advisory.rule}; {advisory.status}" in flat
    assert DISCLAIMER in flat


def test_footnote_numbers_lead_to_the_source() -> None:
    assessment = assessment_of("c", FACTS, load_protocol())
    lines = assessment_lines(assessment, 300)
    (number,) = (
        line.strip().split("]")[0] for line in lines if "] ckd-epi-2021; published" in line
    )
    (source,) = (line for line in lines if line.startswith(f"  {number}] "))
    assert "N Engl J Med 2021;385:1737-1749" in source
