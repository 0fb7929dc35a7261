"""The aortomesenteric angle among the signs of renal-vein compression (CLINICAL.md section 10)."""

import datetime as dt

import pytest

from coilwright.advice import Advisory, Urgency
from coilwright.assessment import Conditions, Facts, Patient, RenalVein
from coilwright.assessment.renal_vein import renal_vein_compression
from coilwright.protocol import load_protocol

PROTOCOL = load_protocol()


def said(
    angle_deg: float | None,
    *,
    gradient_mmhg: float | None = None,
    imaging: str | None = None,
    compression_signs: bool = False,
) -> Advisory:
    renal_vein = RenalVein(
        compression_signs=compression_signs,
        occlusion=False,
        circumaortic=False,
        retroaortic=False,
        aortomesenteric_angle_deg=angle_deg,
        gradient_mmhg=gradient_mmhg,
        imaging=imaging,
    )
    facts = Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x"),
        conditions=Conditions(renal_vein=renal_vein),
    )
    (advisory,) = renal_vein_compression(facts, PROTOCOL)
    return advisory


@pytest.mark.parametrize(
    ("angle_deg", "urgency"),
    # CLINICAL.md section 10 [V]: suggestive below 38 to 45 degrees.
    [
        (37.9, Urgency.STOP_AND_THINK),
        (38.0, Urgency.CAUTION),
        (44.9, Urgency.CAUTION),
        (45.0, Urgency.INFO),
        (None, Urgency.INFO),
    ],
)
def test_angle_speaks_in_its_band(angle_deg: float | None, urgency: Urgency) -> None:
    assert said(angle_deg).urgency is urgency


def test_narrow_angle_counts_as_a_sign_until_gradient_or_imaging_is_recorded() -> None:
    stopped = said(30.0)
    assert "may be the kidney's way out" in stopped.text
    assert stopped.missing == ("conditions.renal_vein.gradient", "conditions.renal_vein.imaging")
    assert (stopped.value, stopped.limit, stopped.unit) == (30.0, 38.0, "deg")
    judged = said(30.0, gradient_mmhg=0.5)
    assert (judged.urgency, judged.missing) == (Urgency.CAUTION, ())
    assert (judged.value, judged.unit) == (0.5, "mmHg")
    assert said(30.0, imaging="CT: no dilatation").urgency is Urgency.CAUTION


def test_borderline_angle_says_that_sources_disagree_and_is_no_sign() -> None:
    advisory = said(40.0)
    assert "borderline, as sources disagree (38 to 45)" in advisory.text
    assert "way out" not in advisory.text


def test_wide_angle_never_quietens_another_sign() -> None:
    advisory = said(60.0, compression_signs=True)
    assert advisory.urgency is Urgency.STOP_AND_THINK


def test_angle_is_not_asked_for_and_its_source_stands_only_where_it_is_used() -> None:
    assert said(None).missing == ()
    assert "38 to 45 degrees" not in said(None).source
    assert "38 to 45 degrees" in said(40.0).source
    assert said(None).inputs["aortomesenteric angle"] == "not recorded"
