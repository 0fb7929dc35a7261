"""ESUR's criteria, the older cut-offs, the two studies, and whether they agree."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts, Patient
from coilwright.assessment.findings import Examination, Position, Ultrasound
from coilwright.assessment.ultrasound_agreement import criteria_agreement
from coilwright.assessment.ultrasound_criteria import criteria_of, ultrasound_criteria
from coilwright.assessment.ultrasound_reference import ultrasound_reference
from coilwright.protocol import load_protocol
from coilwright.veins import Side

PROTOCOL = load_protocol()
UNSIGNED = "Limit from memory, not signed off by the site: check."


def facts(exam: Ultrasound, *examined: Examination) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x"),
        ultrasound=(exam,),
        examination=examined,
    )


def left(**answers: object) -> Ultrasound:
    return replace(Ultrasound(side=Side.LEFT), **answers)  # type: ignore[arg-type]  # named per test


def by_rule(exam: Ultrasound, rule: str, unit: str | None = None) -> Advisory:
    found = [a for a in ultrasound_criteria(facts(exam), PROTOCOL) if a.rule == rule]
    (advisory,) = [a for a in found if unit is None or a.unit == unit]
    return advisory


def met(exam: Ultrasound) -> dict[str, bool | None]:
    return {criterion.name: criterion.met for criterion in criteria_of(exam, PROTOCOL)}


def agreement(exam: Ultrasound, *examined: Examination) -> Advisory:
    (advisory,) = criteria_agreement(facts(exam, *examined), PROTOCOL)
    return advisory


@pytest.mark.parametrize(
    ("width_mm", "expected"),
    # CLINICAL.md 1.2, ESUR: largest vein of 3 mm or more, upright, on Valsalva.
    [(2.9, False), (2.99, False), (3.0, True), (3.01, True)],
)
def test_esur_diameter_is_met_from_3_mm_on(width_mm: float, expected: bool) -> None:
    exam = left(vein_upright_valsalva_mm=width_mm)
    advisory = by_rule(exam, "ultrasound-esur-diameter")
    assert met(exam)["ESUR diameter"] is expected
    assert ("): met." in advisory.text) is expected
    assert (advisory.value, advisory.limit, advisory.unit) == (width_mm, 3.0, "mm")


def test_esur_diameter_never_looks_satisfied_while_its_limit_is_unsigned() -> None:
    # REVIEW.md, truth and safety 12; the wording of the criterion is [M] in CLINICAL.md 1.2.
    advisory = by_rule(left(vein_upright_valsalva_mm=1.0), "ultrasound-esur-diameter")
    assert advisory.status is Status.FROM_MEMORY
    assert advisory.urgency is Urgency.CAUTION
    assert UNSIGNED in advisory.text


def test_esur_diameter_does_not_take_another_condition_instead() -> None:
    exam = left(vein_supine_valsalva_mm=5.0, vein_upright_rest_mm=5.0, vein_supine_rest_mm=5.0)
    advisory = by_rule(exam, "ultrasound-esur-diameter")
    assert met(exam)["ESUR diameter"] is None
    assert advisory.missing == ("ultrasound.vein_upright_valsalva",)
    assert "ultrasound.vein_upright_valsalva" in advisory.text
    assert UNSIGNED not in advisory.text
    assert advisory.value is None


@pytest.mark.parametrize(
    ("seconds", "esur", "older"),
    # CLINICAL.md 1.2: ESUR longer than 2 s upright; older papers longer than 1 s.
    [
        (0.9, False, False),
        (1.0, False, False),
        (1.1, False, True),
        (2.0, False, True),
        (2.1, True, True),
    ],
)
def test_reflux_is_judged_by_2_s_and_by_1_s(seconds: float, esur: bool, older: bool) -> None:
    exam = left(reflux_s=seconds, reflux_position=Position.UPRIGHT)
    found = met(exam)
    assert (found["ESUR reflux"], found["older reflux"]) == (esur, older)
    assert by_rule(exam, "ultrasound-esur-reflux").limit == 2.0
    assert by_rule(exam, "ultrasound-older-cut-offs", "s").limit == 1.0


@pytest.mark.parametrize(
    ("position", "missing"),
    [(Position.SUPINE, ()), (None, ("ultrasound.reflux_position",))],
)
def test_reflux_not_measured_upright_is_not_judged_by_esur(
    position: Position | None, missing: tuple[str, ...]
) -> None:
    exam = left(reflux_s=3.5, reflux_position=position)
    advisory = by_rule(exam, "ultrasound-esur-reflux")
    assert met(exam)["ESUR reflux"] is None
    assert "longer than 2 s; ESUR's criterion is for upright" in advisory.text
    assert advisory.missing == missing
    assert advisory.value == 3.5


def test_no_reflux_on_valsalva_lasts_no_time() -> None:
    exam = left(reflux_on_valsalva=False, reflux_position=Position.UPRIGHT)
    found = met(exam)
    assert (found["ESUR reflux"], found["older reflux"]) == (False, False)
    assert "no reflux on Valsalva, upright" in by_rule(exam, "ultrasound-esur-reflux").text


def test_reflux_without_its_duration_cannot_be_judged() -> None:
    exam = left(reflux_on_valsalva=True, reflux_position=Position.UPRIGHT)
    advisory = by_rule(exam, "ultrasound-esur-reflux")
    assert met(exam)["ESUR reflux"] is met(exam)["older reflux"] is None
    assert advisory.missing == ("ultrasound.reflux_duration",)
    assert advisory.urgency is Urgency.INFO


@pytest.mark.parametrize(
    ("on_valsalva", "seconds"),
    [(False, 3.0), (True, 0.0)],
)
def test_contradictory_reflux_answers_are_a_caution(on_valsalva: bool, seconds: float) -> None:
    exam = left(reflux_on_valsalva=on_valsalva, reflux_s=seconds, reflux_position=Position.UPRIGHT)
    advisory = by_rule(exam, "ultrasound-esur-reflux")
    assert met(exam)["ESUR reflux"] is met(exam)["older reflux"] is None
    assert advisory.urgency is Urgency.CAUTION
    assert "contradictory" in advisory.text


@pytest.mark.parametrize(
    ("width_mm", "expected"),
    # CLINICAL.md 1.2, older cut-off: more than 2 mm (Beddy 2005).
    [(1.9, False), (2.0, False), (2.1, True)],
)
def test_older_diameter_is_met_above_2_mm(width_mm: float, expected: bool) -> None:
    exam = left(vein_supine_rest_mm=1.0, vein_supine_valsalva_mm=width_mm)
    advisory = by_rule(exam, "ultrasound-older-cut-offs", "mm")
    assert met(exam)["older diameter"] is expected
    assert "(supine on Valsalva)" in advisory.text
    assert advisory.limit == 2.0


@given(st.floats(min_value=0.1, max_value=20.0), st.floats(min_value=0.0, max_value=10.0))
def test_a_wider_vein_never_unmeets_a_diameter(width_mm: float, wider_mm: float) -> None:
    before = met(left(vein_upright_valsalva_mm=width_mm))
    after = met(left(vein_upright_valsalva_mm=width_mm + wider_mm))
    for name in ("ESUR diameter", "older diameter"):
        assert not (before[name] is True and after[name] is False)


@given(st.floats(min_value=0.1, max_value=20.0))
def test_whatever_meets_esur_meets_the_older_cut_off(width_mm: float) -> None:
    # 3 mm is more than 2 mm (CLINICAL.md 13.1).
    found = met(left(vein_upright_valsalva_mm=width_mm))
    assert found["older diameter"] or not found["ESUR diameter"]


@pytest.mark.parametrize(
    ("width_mm", "group", "against"),
    # CLINICAL.md 1.2, study of n = 103: 2.35 normal/I, 3.15 I/II, 3.75 II/III; 2.65 varicocele.
    [
        (2.3, "normal or grade I", "below"),
        (2.4, "grade I", "below"),
        (2.65, "grade I", "at or above"),
        (3.2, "grade II", "at or above"),
        (3.8, "grade III", "at or above"),
    ],
)
def test_the_study_of_diameters_is_given_as_information(
    width_mm: float, group: str, against: str
) -> None:
    exam = left(vein_upright_valsalva_mm=width_mm)
    (advisory,) = [
        a
        for a in ultrasound_reference(facts(exam), PROTOCOL)
        if a.rule == "ultrasound-diameter-by-grade"
    ]
    assert f"went with {group} (cut-offs 2.35, 3.15, 3.75 mm)" in advisory.text
    assert f"is {against} its 2.65 mm" in advisory.text
    assert advisory.urgency is Urgency.INFO


@pytest.mark.parametrize(("side", "mean"), [(Side.LEFT, "1.6"), (Side.RIGHT, "1.3")])
def test_healthy_volunteers_are_given_for_the_same_side(side: Side, mean: str) -> None:
    # CLINICAL.md 1.2, n = 56: R 1.3 +- 0.2, L 1.6 +- 0.2 mm; 54 % reflux; 1.1 +- 0.5 s; 4.2-4.9.
    exam = Ultrasound(side=side, reflux_on_valsalva=True)
    (advisory,) = ultrasound_reference(facts(exam), PROTOCOL)
    assert advisory.rule == "ultrasound-healthy-reference"
    for words in (f"{mean} ± 0.2 mm", "54 %", "1.1 ± 0.5 s", "4.2 to 4.9 cm/s"):
        assert words in advisory.text
    assert advisory.urgency is Urgency.INFO


def test_nothing_is_compared_where_nothing_is_recorded() -> None:
    assert ultrasound_reference(facts(left()), PROTOCOL) == ()


def test_criteria_that_agree_are_no_caution_beyond_the_unsigned_limit() -> None:
    exam = left(
        vein_supine_valsalva_mm=4.0,
        reflux_s=3.0,
        reflux_position=Position.UPRIGHT,
        varicocele=True,
    )
    seen = Examination(side=Side.LEFT, palpable_at_rest=True, visible=False)
    advisory = agreement(exam, seen)
    assert advisory.urgency is Urgency.INFO
    assert "the criteria that can be judged agree" in advisory.text
    assert "Varicocele: ESUR reflux, older diameter, older reflux, palpation" in advisory.text
    assert "Cannot be judged: ESUR diameter" in advisory.text
    assert "ultrasound.vein_upright_valsalva" in advisory.missing


def test_2_and_3_mm_and_1_and_2_s_conflict_as_the_sources_do() -> None:
    # CLINICAL.md 13.1: vein 2 vs 3 mm, reflux 1 vs 2 s. 2.5 mm and 1.5 s lie between.
    exam = left(vein_upright_valsalva_mm=2.5, reflux_s=1.5, reflux_position=Position.UPRIGHT)
    advisory = agreement(exam)
    assert advisory.urgency is Urgency.CAUTION
    assert "Varicocele: older diameter, older reflux." in advisory.text
    assert "No varicocele: ESUR diameter, ESUR reflux." in advisory.text
    assert "The criteria followed here are ESUR's." in advisory.text


@pytest.mark.parametrize("palpable_on_valsalva", [True, False])
def test_palpation_is_one_of_the_voices(palpable_on_valsalva: bool) -> None:
    exam = left(reflux_s=3.0, reflux_position=Position.UPRIGHT)
    examined = Examination(
        side=Side.LEFT, palpable_at_rest=False, palpable_on_valsalva=palpable_on_valsalva
    )
    advisory = agreement(exam, examined)
    assert (advisory.urgency is Urgency.CAUTION) is not palpable_on_valsalva
    assert ("No varicocele: palpation." in advisory.text) is not palpable_on_valsalva


def test_the_report_against_the_criteria_is_a_conflict() -> None:
    exam = left(reflux_s=3.0, reflux_position=Position.UPRIGHT, varicocele=False)
    advisory = agreement(exam)
    assert "No varicocele: the report's own conclusion." in advisory.text
    assert advisory.urgency is Urgency.CAUTION


def test_a_side_reported_free_and_not_measured_lacks_nothing() -> None:
    bare, measured = left(varicocele=False), left(varicocele=False, reflux_at_rest=False)
    assert ultrasound_criteria(facts(bare), PROTOCOL) == ()
    assert len(ultrasound_criteria(facts(measured), PROTOCOL)) == 4
    assert "No varicocele: the report's own conclusion." in agreement(bare).text


def test_an_empty_ultrasound_leaves_every_criterion_open() -> None:
    advisory = agreement(left())
    assert "no criterion for a varicocele can be judged" in advisory.text
    assert set(advisory.missing) >= {"examination", "ultrasound.varicocele"}
    assert advisory.urgency is Urgency.INFO


@given(
    st.none() | st.floats(min_value=0.1, max_value=10.0),
    st.none() | st.floats(min_value=0.0, max_value=10.0),
    st.sampled_from([None, True, False]),
)
def test_swapping_the_sides_changes_no_verdict_and_every_advisory_has_its_source(
    width_mm: float | None, seconds: float | None, varicocele: bool | None
) -> None:
    exam = left(vein_upright_valsalva_mm=width_mm, reflux_s=seconds, varicocele=varicocele)
    right = replace(exam, side=Side.RIGHT)
    for rules in (ultrasound_criteria, criteria_agreement):
        ours, theirs = rules(facts(exam), PROTOCOL), rules(facts(right), PROTOCOL)
        assert [a.text.replace("Left:", "Right:") for a in ours] == [a.text for a in theirs]
        assert [(a.value, a.urgency) for a in ours] == [(a.value, a.urgency) for a in theirs]
        assert all(a.source and a.status in Status for a in ours)
