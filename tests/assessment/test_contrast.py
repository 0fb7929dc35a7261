"""Contrast ceilings, iodine, saline before contrast, metformin."""

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import (
    BloodResult,
    Bloods,
    Conditions,
    ContrastGiven,
    Facts,
    Given,
    Medication,
    Patient,
    PlannedContrast,
)
from coilwright.assessment.contrast import cigarroa_ml, contrast_ceilings
from coilwright.assessment.contrast_kidney import contrast_and_kidney
from coilwright.assessment.kidney import CKD_EPI_2021, KidneyFunction
from coilwright.protocol import Protocol, load_protocol
from coilwright.units import QuantityKind, parse_quantity

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)
WHO = 'why = "w"\nchanged_by = "Dr Invented"\nchanged_on = 2026-02-03\n'


def kidney(egfr: float | None) -> KidneyFunction:
    if egfr is None:
        return KidneyFunction(egfr=None, missing=("bloods.creatinine",))
    return KidneyFunction(egfr=egfr, basis=(CKD_EPI_2021,))


def facts(weight_kg: float | None = 70.0, creatinine: str | None = "1.8 mg/dL") -> Facts:
    result = None
    if creatinine is not None:
        result = BloodResult(value=parse_quantity(creatinine, QuantityKind.CREATININE))
    return Facts(
        on=ON,
        patient=Patient(id="1", name="x", weight_kg=weight_kg),
        bloods=Bloods(creatinine=result),
        conditions=Conditions(acute_kidney_injury=False, dialysis=False),
        medication=Medication(metformin=False),
    )


def given_ml(base: Facts, volume_ml: float) -> Facts:
    dose = ContrastGiven(concentration_mgi_per_ml=300.0, volume_ml=volume_ml)
    return replace(base, given=Given(contrast=(dose,)))


def by_rule(advisories: tuple[Advisory, ...], rule: str) -> Advisory:
    (advisory,) = [a for a in advisories if a.rule == rule]
    return advisory


def with_choice(folder: Path, id: str, value: str) -> Protocol:
    file = folder / "site.toml"
    file.write_text(f'[choices.{id}]\nvalue = "{value}"\n{WHO}', encoding="utf-8")
    return load_protocol(file)


@pytest.mark.parametrize(
    ("weight_kg", "creatinine", "limit_ml"),
    # CLINICAL.md 5.3, vectors after Cigarroa RG et al., Am J Med 1989;86:649-652.
    [(70.0, "1.8 mg/dL", 194.4), (80.0, "1.2 mg/dL", 300.0), (60.0, "3.0 mg/dL", 100.0)],
)
def test_cigarroa_gives_the_vectors_to_the_printed_digit(
    weight_kg: float, creatinine: str, limit_ml: float
) -> None:
    advisories = contrast_ceilings(facts(weight_kg, creatinine), kidney(60.0), PROTOCOL)
    advisory = by_rule(advisories, "contrast-cigarroa")
    assert advisory.limit is not None
    assert round(advisory.limit, 1) == limit_ml
    assert advisory.unit == "mL"
    assert "Extrapolated: from intra-arterial coronary work" in advisory.text


def test_ceiling_of_adults_is_no_quiet_figure_for_a_child() -> None:
    # By hand, 30 kg and 0.5 mg/dL: 5 x 30 / 0.5 = 300 mL, which is 10 mL/kg.
    base = facts(30.0, "0.5 mg/dL")
    child = replace(base, patient=replace(base.patient, birth_date=dt.date(2016, 9, 1)))
    advisory = by_rule(contrast_ceilings(child, kidney(110.0), PROTOCOL), "contrast-cigarroa")
    assert advisory.urgency is Urgency.CAUTION
    assert "the patient is 9: no ceiling for a child (here 10.0 mL/kg)" in advisory.text


def test_volume_ceiling_by_kidney_function_gives_the_vector(tmp_path: Path) -> None:
    # CLINICAL.md 5.3: eGFR 60, 3.7 x -> 222 mL.
    protocol = with_choice(tmp_path, "contrast-volume-egfr-cut-off", "laskey")
    advisory = by_rule(contrast_ceilings(facts(), kidney(60.0), protocol), "contrast-volume-egfr")
    assert advisory.limit == pytest.approx(222.0, abs=1e-9)
    assert advisory.status is Status.FROM_MEMORY
    assert advisory.urgency is Urgency.CAUTION


def test_ratios_of_what_was_given_are_the_vectors() -> None:
    # CLINICAL.md 5.3: 100 mL of 300 mgI/mL = 30.0 g, at eGFR 60 -> 0.50 g and 1.667 mL.
    advisories = contrast_ceilings(given_ml(facts(), 100.0), kidney(60.0), PROTOCOL)
    iodine = by_rule(advisories, "iodine-per-egfr")
    volume = by_rule(advisories, "contrast-volume-egfr-ratio")
    assert iodine.value == pytest.approx(0.50, abs=1e-9)
    assert volume.value is not None
    assert round(volume.value, 3) == 1.667
    assert volume.urgency is Urgency.INFO


@pytest.mark.parametrize(
    ("volume_ml", "urgency"),
    # At eGFR 60: lowest published cut-off 1.78 (REICIN) at 106.8 mL, chosen 4.0 at 240 mL.
    [
        (106.0, Urgency.INFO),
        (107.0, Urgency.CAUTION),
        (239.0, Urgency.CAUTION),
        (241.0, Urgency.STOP_AND_THINK),
    ],
)
def test_volume_over_kidney_function_speaks_in_its_band(volume_ml: float, urgency: Urgency) -> None:
    advisories = contrast_ceilings(given_ml(facts(), volume_ml), kidney(60.0), PROTOCOL)
    assert by_rule(advisories, "contrast-volume-egfr-ratio").urgency is urgency


@pytest.mark.parametrize(
    ("volume_ml", "urgency"),
    # Cigarroa for 60 kg and 3.0 mg/dL is 100 mL; 80 % of it is the site's pointing-out share.
    [(79.0, Urgency.INFO), (80.0, Urgency.CAUTION), (101.0, Urgency.STOP_AND_THINK)],
)
def test_running_total_speaks_up_near_and_above_its_ceiling(
    volume_ml: float, urgency: Urgency
) -> None:
    base = given_ml(facts(60.0, "3.0 mg/dL"), volume_ml)
    advisory = by_rule(contrast_ceilings(base, kidney(60.0), PROTOCOL), "contrast-cigarroa")
    assert advisory.urgency is urgency


def test_ceilings_without_their_inputs_name_what_is_missing() -> None:
    advisories = contrast_ceilings(facts(None, None), kidney(None), PROTOCOL)
    cigarroa = by_rule(advisories, "contrast-cigarroa")
    volume = by_rule(advisories, "contrast-volume-egfr")
    assert cigarroa.missing == ("patient.weight", "bloods.creatinine")
    assert volume.missing == ("bloods.creatinine",)
    assert (cigarroa.limit, volume.limit) == (None, None)


def test_report_says_which_ceiling_the_site_follows(tmp_path: Path) -> None:
    protocol = with_choice(tmp_path, "contrast-ceiling-rule", "volume-per-egfr")
    shipped = contrast_ceilings(facts(), kidney(60.0), PROTOCOL)
    changed = contrast_ceilings(facts(), kidney(60.0), protocol)
    assert "the rule that the site follows" in by_rule(shipped, "contrast-cigarroa").text
    assert "the rule that the site follows" in by_rule(changed, "contrast-volume-egfr").text
    assert "shown beside the site's own rule" in by_rule(changed, "contrast-cigarroa").text


def test_every_published_cut_off_stays_visible_beside_the_chosen_one() -> None:
    # CLINICAL.md 5.3 and section 13, 4: V/eGFR cut-offs 1.78 to 6.15 (2.39, 3.7 [M], 4 between).
    advisories = contrast_ceilings(given_ml(facts(), 100.0), kidney(60.0), PROTOCOL)
    for rule in ("contrast-volume-egfr", "contrast-volume-egfr-ratio"):
        advisory = by_rule(advisories, rule)
        assert "Sources disagree: published cut-offs run from 1.78 to 6.15" in advisory.text
        assert advisory.inputs["other cut-offs"] == (
            "1.78 (published), 2.39 (published), 3.7 (from memory), 6.15 (published)"
        )
        assert advisory.status is Status.PUBLISHED


@pytest.mark.parametrize(
    ("choice", "limit_ml"),
    # By hand at eGFR 60: 1.78, 2.39, 3.7, 4 and 6.15 times 60 (CLINICAL.md 5.3).
    [
        ("lowest", 106.8),
        ("stemi", 143.4),
        ("laskey", 222.0),
        ("cci-2013", 240.0),
        ("highest", 369.0),
    ],
)
def test_site_may_follow_any_of_the_published_cut_offs(
    tmp_path: Path, choice: str, limit_ml: float
) -> None:
    protocol = with_choice(tmp_path, "contrast-volume-egfr-cut-off", choice)
    advisory = by_rule(contrast_ceilings(facts(), kidney(60.0), protocol), "contrast-volume-egfr")
    assert advisory.limit == pytest.approx(limit_ml, abs=1e-9)


@pytest.mark.parametrize(
    ("weight_kg", "egfr", "limit_ml"),
    # CLINICAL.md 5.3 [V2]: below 3.4 x eGFR, 4 mL/kg and 350 mL; each decides once, by hand.
    [(70.0, 60.0, 204.0), (20.0, 90.0, 80.0), (100.0, 120.0, 350.0)],
)
def test_least_of_three_bounds_is_the_third_ceiling(
    weight_kg: float, egfr: float, limit_ml: float
) -> None:
    advisories = contrast_ceilings(facts(weight_kg), kidney(egfr), PROTOCOL)
    advisory = by_rule(advisories, "contrast-three-bounds")
    assert advisory.limit == pytest.approx(limit_ml, abs=1e-9)
    assert advisory.status is Status.RESTATED


def test_three_bounds_without_weight_or_kidney_function_name_both() -> None:
    advisories = contrast_ceilings(facts(None), kidney(None), PROTOCOL)
    advisory = by_rule(advisories, "contrast-three-bounds")
    assert advisory.missing == ("patient.weight", "bloods.creatinine")
    assert advisory.limit is None


def test_ceiling_is_told_as_iodine_where_the_planned_strength_is_recorded() -> None:
    # By hand: Cigarroa 194.44 mL (vector of CLINICAL.md 5.3) x 300 mgI/mL = 58.3 gI.
    planned = replace(facts(), contrast=PlannedContrast(concentration_mgi_per_ml=300.0))
    told = by_rule(contrast_ceilings(planned, kidney(60.0), PROTOCOL), "contrast-cigarroa")
    untold = by_rule(contrast_ceilings(facts(), kidney(60.0), PROTOCOL), "contrast-cigarroa")
    assert "194 mL, 58.3 gI at the planned 300 mgI/mL" in told.text
    assert "gI" not in untold.text
    assert untold.inputs["planned strength"] == "not recorded"


@pytest.mark.parametrize(
    "conditions", [Conditions(dialysis=True), Conditions(acute_kidney_injury=True)]
)
def test_ceiling_from_creatinine_is_never_quiet_without_a_steady_state(
    conditions: Conditions,
) -> None:
    unsteady = replace(facts(), conditions=conditions)
    advisory = by_rule(contrast_ceilings(unsteady, kidney(None), PROTOCOL), "contrast-cigarroa")
    assert advisory.urgency is Urgency.CAUTION
    assert "no steady state" in advisory.text


def test_what_is_left_below_each_ceiling_is_told_as_a_number() -> None:
    # By hand: 194.44 - 100 = 94.44 (Cigarroa), 240 - 100 (4 x 60), 204 - 100 (3.4 x 60).
    advisories = contrast_ceilings(given_ml(facts(), 100.0), kidney(60.0), PROTOCOL)
    left = {a.rule: a.left for a in advisories if a.left is not None}
    assert left == pytest.approx(
        {
            "contrast-cigarroa": 94.44,
            "contrast-volume-egfr": 140.0,
            "contrast-three-bounds": 104.0,
        },
        abs=0.01,
    )


def test_ceiling_says_why_where_the_estimate_does_not_hold() -> None:
    unsteady = KidneyFunction(egfr=None, refused="the estimate does not hold (dialysis recorded)")
    advisory = by_rule(contrast_ceilings(facts(), unsteady, PROTOCOL), "contrast-volume-egfr")
    assert "cannot be computed: the estimate does not hold (dialysis recorded)" in advisory.text
    assert advisory.missing == ()


@given(
    st.floats(min_value=1.0, max_value=300.0),
    st.floats(min_value=0.0, max_value=100.0),
    st.floats(min_value=0.2, max_value=10.0),
)
def test_cigarroa_never_falls_with_weight_and_never_passes_its_maximum(
    weight_kg: float, more_kg: float, creatinine: float
) -> None:
    less, more = (
        cigarroa_ml(weight_kg=kg, creatinine_mg_per_dl=creatinine, factor=5.0, maximum_ml=300.0)
        for kg in (weight_kg, weight_kg + more_kg)
    )
    assert less <= more <= 300.0


@pytest.mark.parametrize(
    ("egfr", "urgency"),
    # CLINICAL.md 5.3, ACR and NKF 2020: below 30, 30 to 44, 45 and more.
    [
        (29.9, Urgency.STOP_AND_THINK),
        (30.0, Urgency.CAUTION),
        (44.9, Urgency.CAUTION),
        (45.0, Urgency.INFO),
    ],
)
def test_saline_before_contrast_follows_the_consensus(egfr: float, urgency: Urgency) -> None:
    advisory = by_rule(contrast_and_kidney(facts(), kidney(egfr), PROTOCOL), "contrast-prophylaxis")
    assert advisory.urgency is urgency


def test_acute_kidney_injury_counts_at_any_kidney_function() -> None:
    injured = replace(facts(), conditions=Conditions(acute_kidney_injury=True, dialysis=False))
    advisory = by_rule(contrast_and_kidney(injured, kidney(90.0), PROTOCOL), "contrast-prophylaxis")
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "acute kidney injury" in advisory.text


def test_question_that_was_not_asked_never_quietens_a_low_kidney_function() -> None:
    unasked = replace(facts(), conditions=Conditions(), medication=Medication())
    advisories = contrast_and_kidney(unasked, kidney(20.0), PROTOCOL)
    saline = by_rule(advisories, "contrast-prophylaxis")
    assert saline.urgency is Urgency.STOP_AND_THINK
    assert saline.missing == ("conditions.acute_kidney_injury", "conditions.dialysis")
    assert by_rule(advisories, "metformin-contrast").urgency is Urgency.STOP_AND_THINK


@pytest.mark.parametrize(
    ("egfr", "urgency"),
    # CLINICAL.md 5.3, ESUR version 10 part 2: metformin stops below 30.
    [(29.9, Urgency.STOP_AND_THINK), (30.0, Urgency.INFO), (None, Urgency.CAUTION)],
)
def test_metformin_follows_esur(egfr: float | None, urgency: Urgency) -> None:
    takes = replace(facts(), medication=Medication(metformin=True))
    advisory = by_rule(contrast_and_kidney(takes, kidney(egfr), PROTOCOL), "metformin-contrast")
    assert advisory.urgency is urgency


def test_metformin_that_nobody_asked_about_is_named() -> None:
    unasked = replace(facts(), medication=Medication())
    advisory = by_rule(contrast_and_kidney(unasked, kidney(90.0), PROTOCOL), "metformin-contrast")
    assert advisory.missing == ("medication.metformin",)
    assert advisory.urgency is Urgency.CAUTION


@pytest.mark.parametrize(
    ("conditions", "egfr"),
    [(Conditions(dialysis=True), None), (Conditions(acute_kidney_injury=True), None)],
)
def test_metformin_stops_on_dialysis_and_in_acute_injury(
    conditions: Conditions, egfr: float | None
) -> None:
    takes = replace(facts(), medication=Medication(metformin=True), conditions=conditions)
    advisory = by_rule(contrast_and_kidney(takes, kidney(egfr), PROTOCOL), "metformin-contrast")
    assert advisory.urgency is Urgency.STOP_AND_THINK


def test_other_bodys_protection_rule_is_named_beside_without_weakening_the_followed_one() -> None:
    advisory = by_rule(contrast_and_kidney(facts(), kidney(90.0), PROTOCOL), "contrast-prophylaxis")
    # CLINICAL.md 5.3 [M]: ESUR below 30 at second pass, below 45 at first pass.
    assert (
        "below 30 at second pass, as here, below 45 at first pass" in advisory.inputs["other rule"]
    )
    assert "from memory" in advisory.inputs["other rule"]
    assert "second pass" in advisory.text
    assert advisory.status is Status.PUBLISHED


@pytest.mark.parametrize(
    ("egfr", "urgency"),
    # CLINICAL.md 5.3 [M]: by ESUR at risk below 30 at second pass; no band of discretion above it.
    # From memory and unsigned, so never quieter than a caution.
    [(29.9, Urgency.STOP_AND_THINK), (30.0, Urgency.CAUTION), (44.9, Urgency.CAUTION)],
)
def test_protection_by_esur_follows_second_pass_logic(
    tmp_path: Path, egfr: float, urgency: Urgency
) -> None:
    protocol = with_choice(tmp_path, "contrast-prophylaxis-rule", "esur")
    advisory = by_rule(contrast_and_kidney(facts(), kidney(egfr), protocol), "contrast-prophylaxis")
    assert advisory.urgency is urgency
    assert advisory.limit == 30.0
    assert advisory.status is Status.FROM_MEMORY
    assert "individual decision" not in advisory.text
    assert "advised below 30, individual below 45 (published)" in advisory.inputs["other rule"]


@pytest.mark.parametrize(
    ("egfr", "urgency"), [(30.0, Urgency.INFO), (29.9, Urgency.STOP_AND_THINK)]
)
def test_esur_limit_speaks_normally_once_the_site_has_signed_it(
    tmp_path: Path, egfr: float, urgency: Urgency
) -> None:
    file = tmp_path / "site.toml"
    file.write_text(
        f'[choices.contrast-prophylaxis-rule]\nvalue = "esur"\n{WHO}'
        '[limits.esur-second-pass-egfr-below]\nsigned_off_by = "Dr Invented"\n'
        "signed_off_on = 2026-02-03\n",
        encoding="utf-8",
    )
    advisories = contrast_and_kidney(facts(), kidney(egfr), load_protocol(file))
    assert by_rule(advisories, "contrast-prophylaxis").urgency is urgency
