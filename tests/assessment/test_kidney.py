"""Kidney function: the published vectors to the printed digit, and what is refused."""

import datetime as dt
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment import BloodResult, Bloods, Conditions, Facts, Patient, Sex
from coilwright.assessment.kidney import KidneyFunction, kidney_function
from coilwright.assessment.kidney_equations import ckd_epi_2009, ckd_epi_2021, schwartz_bedside
from coilwright.protocol import Protocol, load_protocol
from coilwright.units import QuantityKind, parse_quantity

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)


def facts(
    *,
    creatinine: str | None = "80 umol/L",
    born: dt.date | None = dt.date(1996, 1, 1),
    sex: Sex | None = Sex.MALE,
    height_cm: float | None = None,
    conditions: Conditions | None = None,
) -> Facts:
    result = None
    if creatinine is not None:
        result = BloodResult(value=parse_quantity(creatinine, QuantityKind.CREATININE), date=ON)
    return Facts(
        on=ON,
        patient=Patient(id="1", name="x", birth_date=born, sex=sex, height_cm=height_cm),
        bloods=Bloods(creatinine=result),
        conditions=conditions or Conditions(),
    )


def by_rule(kidney: KidneyFunction, rule: str) -> Advisory:
    (advisory,) = [a for a in kidney.advisories if a.rule == rule]
    return advisory


def site(folder: Path, text: str) -> Protocol:
    file = folder / "site.toml"
    file.write_text(text, encoding="utf-8")
    return load_protocol(file)


FOLLOW_2009 = (
    '[choices.adult-kidney-equation]\nvalue = "ckd-epi-2009"\nwhy = "the laboratory prints it"\n'
    'changed_by = "Dr Invented"\nchanged_on = 2026-02-03\n'
)


# CLINICAL.md 5.2, table of vectors, columns 2021 (Inker LA et al., N Engl J Med 2021;385:1737) and
# 2009 (Levey AS et al., Ann Intern Med 2009;150:604).
VECTORS = [
    ("0.8 mg/dL", 25, Sex.MALE, 125.95, 124.16),
    ("0.9 mg/dL", 30, Sex.MALE, 117.83, 114.21),
    ("1.0 mg/dL", 30, Sex.MALE, 103.84, 100.55),
    ("80 umol/L", 30, Sex.MALE, 117.05, 113.45),
    ("1.2 mg/dL", 60, Sex.MALE, 69.23, 65.33),
    ("1.5 mg/dL", 50, Sex.MALE, 56.37, 53.51),
    ("1.8 mg/dL", 70, Sex.MALE, 39.99, 37.30),
    ("0.7 mg/dL", 40, Sex.FEMALE, 112.05, 108.38),
    ("0.9 mg/dL", 55, Sex.FEMALE, 75.50, 71.98),
    ("2.0 mg/dL", 50, Sex.FEMALE, 29.87, 28.39),
]


@pytest.mark.parametrize(("creatinine", "age", "sex", "of_2021", "of_2009"), VECTORS)
def test_both_equations_give_the_vectors_to_the_printed_digit(
    creatinine: str, age: int, sex: Sex, of_2021: float, of_2009: float
) -> None:
    born = dt.date(ON.year - age, ON.month, ON.day)
    kidney = kidney_function(facts(creatinine=creatinine, born=born, sex=sex), PROTOCOL)
    newer, older = kidney.advisories
    assert (newer.rule, older.rule) == ("ckd-epi-2021", "ckd-epi-2009")
    assert newer.value is not None
    assert older.value is not None
    assert (round(newer.value, 2), round(older.value, 2)) == (of_2021, of_2009)
    assert kidney.egfr == newer.value
    assert newer.status is Status.PUBLISHED
    assert newer.urgency is Urgency.INFO
    assert newer.inputs["creatinine"] == creatinine.replace("1.0", "1").replace("2.0", "2")


def test_older_equation_is_shown_beside_for_comparison_alone() -> None:
    advisory = by_rule(kidney_function(facts(), PROTOCOL), "ckd-epi-2009")
    assert advisory.urgency is Urgency.INFO
    assert "shown beside, for comparison with older reports" in advisory.text


@pytest.mark.parametrize(("creatinine", "age", "sex", "of_2021", "of_2009"), VECTORS)
def test_other_rules_go_on_with_the_equation_that_the_site_chose(
    tmp_path: Path, creatinine: str, age: int, sex: Sex, of_2021: float, of_2009: float
) -> None:
    born = dt.date(ON.year - age, ON.month, ON.day)
    case = facts(creatinine=creatinine, born=born, sex=sex)
    kidney = kidney_function(case, site(tmp_path, FOLLOW_2009))
    assert kidney.egfr is not None
    assert round(kidney.egfr, 2) == of_2009
    assert kidney.advisories[0].rule == "ckd-epi-2009"
    beside = by_rule(kidney, "ckd-epi-2021")
    assert beside.value is not None
    assert round(beside.value, 2) == of_2021
    assert "the site follows CKD-EPI 2009" in beside.text


# BMC Geriatrics 2021, table 1 (CLINICAL.md 5.2): the piecewise form, men, read apart from the
# single line: 141 x (Scr/0.9)^-0.411 up to 0.9 mg/dL, 141 x (Scr/0.9)^-1.209 above it.
@pytest.mark.parametrize(("creatinine", "exponent"), [(0.6, -0.411), (0.9, -0.411), (1.7, -1.209)])
def test_older_equation_is_the_piecewise_table_for_men(creatinine: float, exponent: float) -> None:
    egfr = ckd_epi_2009(creatinine_mg_per_dl=creatinine, age_years=44, sex=Sex.MALE)
    assert egfr == pytest.approx(141.0 * (creatinine / 0.9) ** exponent * 0.993**44, rel=1e-12)


@pytest.mark.parametrize(
    ("equation", "sex", "knot", "exponent"),
    # CLINICAL.md 5.2, alpha below the knot: halving the creatinine there multiplies by 2^-alpha.
    [
        (ckd_epi_2021, Sex.FEMALE, 0.7, 0.241),
        (ckd_epi_2021, Sex.MALE, 0.9, 0.302),
        (ckd_epi_2009, Sex.FEMALE, 0.7, 0.329),
        (ckd_epi_2009, Sex.MALE, 0.9, 0.411),
    ],
)
def test_half_the_creatinine_below_the_knot_multiplies_by_the_published_power(
    equation: Callable[..., float], sex: Sex, knot: float, exponent: float
) -> None:
    at_knot = equation(creatinine_mg_per_dl=knot, age_years=50, sex=sex)
    halved = equation(creatinine_mg_per_dl=knot / 2.0, age_years=50, sex=sex)
    assert halved / at_knot == pytest.approx(2.0**exponent, rel=1e-12)


def test_factor_for_women_is_from_memory_until_signed_and_near_the_printed_144(
    tmp_path: Path,
) -> None:
    # BMC Geriatrics 2021, table 1, prints 144 at the knot of 0.7 mg/dL; 141 x 1.018 is 143.54, and
    # CLINICAL.md 5.2 says that they are 0.3 % apart.
    born = dt.date(ON.year - 40, ON.month, ON.day)
    woman = facts(creatinine="0.7 mg/dL", born=born, sex=Sex.FEMALE)
    unsigned = by_rule(kidney_function(woman, PROTOCOL), "ckd-epi-2009")
    assert unsigned.value == pytest.approx(144.0 * 0.993**40, rel=0.0035)
    # Nothing goes on with it unless the site follows it: it says so, and stays quiet.
    assert (unsigned.status, unsigned.urgency) == (Status.FROM_MEMORY, Urgency.INFO)
    assert "from memory, not signed off" in unsigned.text
    sign = 'signed_off_by = "Dr Invented"\nsigned_off_on = 2026-02-03\n'
    signed = kidney_function(woman, site(tmp_path, f"[limits.ckd-epi-2009-female-factor]\n{sign}"))
    assert "from memory" not in by_rule(signed, "ckd-epi-2009").text
    assert by_rule(kidney_function(facts(), PROTOCOL), "ckd-epi-2009").status is Status.PUBLISHED


def test_estimate_carries_the_band_of_thirty_percent_and_says_that_this_is_from_memory() -> None:
    # By hand from the vector of 103.84 (CLINICAL.md 5.2): an estimate within 30 % of the measured
    # rate means a measured rate from 103.84 / 1.3 = 79.88 to 103.84 / 0.7 = 148.34.
    kidney = kidney_function(facts(creatinine="1.0 mg/dL", born=dt.date(1996, 3, 12)), PROTOCOL)
    advisory = kidney.advisories[0]
    assert (advisory.low, advisory.high) == pytest.approx((79.88, 148.34), abs=0.01)
    assert "from memory" in advisory.inputs["range"]
    assert advisory.status is Status.PUBLISHED


@pytest.mark.parametrize(
    ("conditions", "words"),
    [
        (Conditions(dialysis=True), "dialysis recorded"),
        (Conditions(acute_kidney_injury=True), "acute kidney injury recorded"),
        (
            Conditions(dialysis=True, acute_kidney_injury=True),
            "dialysis and acute kidney injury recorded",
        ),
    ],
)
@pytest.mark.parametrize(
    ("born", "height_cm"), [(dt.date(1996, 1, 1), None), (dt.date(2014, 1, 1), 140.0)]
)
def test_estimate_without_a_steady_state_does_not_hold_and_is_not_gone_on_with(
    conditions: Conditions, words: str, born: dt.date, height_cm: float | None
) -> None:
    kidney = kidney_function(facts(conditions=conditions, born=born, height_cm=height_cm), PROTOCOL)
    assert kidney.egfr is None
    assert words in kidney.why_unknown
    for advisory in kidney.advisories:
        assert advisory.urgency is Urgency.CAUTION
        assert f"It does not hold here: {words}" in advisory.text
        assert (advisory.low, advisory.high) == (None, None)


def test_worked_example_of_the_public_page_is_within_one_of_its_76() -> None:
    # CLINICAL.md 5.2 [V2]: woman, 55 years, 0.9 mg/dL, "about 76".
    kidney = kidney_function(
        facts(creatinine="0.9 mg/dL", born=dt.date(1971, 1, 1), sex=Sex.FEMALE), PROTOCOL
    )
    assert kidney.egfr == pytest.approx(76.0, abs=1.0)


@pytest.mark.parametrize(
    ("change", "missing"),
    [
        ({"sex": None}, ("patient.sex",)),
        ({"creatinine": None}, ("bloods.creatinine",)),
        ({"born": None}, ("patient.birth_date",)),
        ({"born": None, "creatinine": None}, ("patient.birth_date", "bloods.creatinine")),
    ],
)
def test_what_is_missing_is_named_and_nothing_is_assumed(
    change: dict[str, None], missing: tuple[str, ...]
) -> None:
    kidney = kidney_function(facts(**change), PROTOCOL)
    assert kidney.egfr is None
    (advisory,) = kidney.advisories
    assert advisory.rule == "ckd-epi-2021"
    assert advisory.missing == missing
    assert advisory.value is None
    assert advisory.urgency is Urgency.CAUTION
    assert all(key in advisory.text for key in missing)


def test_day_before_the_eighteenth_birthday_is_not_covered_by_the_adult_equation() -> None:
    child = kidney_function(facts(born=dt.date(2008, 3, 13), height_cm=170.0), PROTOCOL)
    adult = kidney_function(facts(born=dt.date(2008, 3, 12), height_cm=170.0), PROTOCOL)
    assert child.advisories[0].rule == "schwartz-bedside"
    assert adult.advisories[0].rule == "ckd-epi-2021"


def test_bedside_formula_is_worked_and_shown_as_from_memory() -> None:
    # By hand: 0.413 x 140 cm / 0.5 mg/dL = 115.64 (coefficient of CLINICAL.md 5.2 [M]).
    kidney = kidney_function(
        facts(creatinine="0.5 mg/dL", born=dt.date(2014, 1, 1), sex=None, height_cm=140.0), PROTOCOL
    )
    assert kidney.egfr == pytest.approx(115.64, abs=0.005)
    (advisory,) = kidney.advisories
    assert advisory.status is Status.FROM_MEMORY
    assert advisory.urgency is Urgency.CAUTION
    assert "not signed off by the site" in advisory.text


def test_child_without_a_height_is_refused_by_name() -> None:
    kidney = kidney_function(facts(born=dt.date(2014, 1, 1)), PROTOCOL)
    assert kidney.egfr is None
    assert kidney.missing == ("patient.height",)


def test_child_without_creatinine_and_height_is_told_both_by_the_childrens_rule() -> None:
    kidney = kidney_function(facts(born=dt.date(2014, 1, 1), creatinine=None), PROTOCOL)
    (advisory,) = kidney.advisories
    assert advisory.rule == "schwartz-bedside"
    assert advisory.missing == ("patient.height", "bloods.creatinine")


@pytest.mark.parametrize(
    ("born", "covered"),
    # The formula was made for 1 to 16 years (from memory): the first birthday is the first day.
    [(dt.date(2025, 3, 12), True), (dt.date(2025, 3, 13), False), (ON, False)],
)
def test_infant_is_refused_and_never_falls_through_to_another_formula(
    born: dt.date, covered: bool
) -> None:
    kidney = kidney_function(facts(born=born, height_cm=75.0), PROTOCOL)
    assert (kidney.egfr is not None) is covered
    assert {a.rule for a in kidney.advisories} == {"schwartz-bedside"}
    assert (
        "no formula here covers an age below 1 year" in kidney.advisories[0].text
    ) is not covered


@pytest.mark.parametrize(
    ("born", "stretched"),
    # Sixteen on the day is within 1 to 16 years; a day older, 17, and a day short of 18 are not.
    [
        (dt.date(2010, 3, 13), False),
        (dt.date(2010, 3, 12), False),
        (dt.date(2010, 3, 11), True),
        (dt.date(2009, 3, 12), True),
        (dt.date(2008, 3, 13), True),
    ],
)
def test_formula_for_children_is_said_to_be_stretched_above_sixteen(
    born: dt.date, stretched: bool
) -> None:
    (advisory,) = kidney_function(facts(born=born, height_cm=170.0), PROTOCOL).advisories
    assert advisory.rule == "schwartz-bedside"
    assert ("stretched beyond the 1 to 16 years" in advisory.text) is stretched


@pytest.mark.parametrize(("creatinine", "age"), [(0.0, 30), (-1.0, 30), (1.0, 17)])
def test_equations_refuse_what_they_do_not_cover(creatinine: float, age: int) -> None:
    with pytest.raises(ValueError, match="positive creatinine and an age of 18 or more"):
        ckd_epi_2021(creatinine_mg_per_dl=creatinine, age_years=age, sex=Sex.MALE)
    with pytest.raises(ValueError, match="positive creatinine and an age of 18 or more"):
        ckd_epi_2009(creatinine_mg_per_dl=creatinine, age_years=age, sex=Sex.MALE)


def test_bedside_formula_refuses_a_height_of_nothing() -> None:
    with pytest.raises(ValueError, match="positive creatinine and height"):
        schwartz_bedside(creatinine_mg_per_dl=0.5, height_cm=0.0, coefficient=0.413)


@given(
    st.floats(min_value=0.2, max_value=10.0),
    st.floats(min_value=0.01, max_value=5.0),
    st.integers(min_value=18, max_value=100),
    st.sampled_from(Sex),
)
def test_more_creatinine_or_more_years_never_mean_a_better_kidney(
    creatinine: float, more: float, age: int, sex: Sex
) -> None:
    for equation in (ckd_epi_2021, ckd_epi_2009):
        egfr = equation(creatinine_mg_per_dl=creatinine, age_years=age, sex=sex)
        assert equation(creatinine_mg_per_dl=creatinine + more, age_years=age, sex=sex) < egfr
        assert equation(creatinine_mg_per_dl=creatinine, age_years=age + 1, sex=sex) < egfr
