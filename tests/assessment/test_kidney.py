"""Kidney function: the published vectors to the printed digit, and what is refused."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Status, Urgency
from coilwright.assessment import BloodResult, Bloods, Facts, Patient, Sex
from coilwright.assessment.kidney import ckd_epi_2021, kidney_function, schwartz_bedside
from coilwright.protocol import load_protocol
from coilwright.units import QuantityKind, parse_quantity

PROTOCOL = load_protocol()
ON = dt.date(2026, 3, 12)


def facts(
    *,
    creatinine: str | None = "80 umol/L",
    born: dt.date | None = dt.date(1996, 1, 1),
    sex: Sex | None = Sex.MALE,
    height_cm: float | None = None,
) -> Facts:
    result = None
    if creatinine is not None:
        result = BloodResult(value=parse_quantity(creatinine, QuantityKind.CREATININE), date=ON)
    return Facts(
        on=ON,
        patient=Patient(id="1", name="x", birth_date=born, sex=sex, height_cm=height_cm),
        bloods=Bloods(creatinine=result),
    )


# CLINICAL.md 5.2, table of vectors, column 2021 (Inker LA et al., N Engl J Med 2021;385:1737).
VECTORS = [
    ("0.8 mg/dL", 25, Sex.MALE, 125.95),
    ("0.9 mg/dL", 30, Sex.MALE, 117.83),
    ("1.0 mg/dL", 30, Sex.MALE, 103.84),
    ("80 umol/L", 30, Sex.MALE, 117.05),
    ("1.2 mg/dL", 60, Sex.MALE, 69.23),
    ("1.5 mg/dL", 50, Sex.MALE, 56.37),
    ("1.8 mg/dL", 70, Sex.MALE, 39.99),
    ("0.7 mg/dL", 40, Sex.FEMALE, 112.05),
    ("0.9 mg/dL", 55, Sex.FEMALE, 75.50),
    ("2.0 mg/dL", 50, Sex.FEMALE, 29.87),
]


@pytest.mark.parametrize(("creatinine", "age", "sex", "egfr"), VECTORS)
def test_ckd_epi_2021_gives_the_vectors_to_the_printed_digit(
    creatinine: str, age: int, sex: Sex, egfr: float
) -> None:
    born = dt.date(ON.year - age, ON.month, ON.day)
    kidney = kidney_function(facts(creatinine=creatinine, born=born, sex=sex), PROTOCOL)
    assert kidney.egfr is not None
    assert round(kidney.egfr, 2) == egfr
    (advisory,) = kidney.advisories
    assert advisory.rule == "ckd-epi-2021"
    assert advisory.value == kidney.egfr
    assert advisory.status is Status.PUBLISHED
    assert advisory.inputs["creatinine"] == creatinine.replace("1.0", "1").replace("2.0", "2")


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


@pytest.mark.parametrize(("creatinine", "age"), [(0.0, 30), (-1.0, 30), (1.0, 17)])
def test_equation_refuses_what_it_does_not_cover(creatinine: float, age: int) -> None:
    with pytest.raises(ValueError, match="positive creatinine and an age of 18 or more"):
        ckd_epi_2021(creatinine_mg_per_dl=creatinine, age_years=age, sex=Sex.MALE)


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
    egfr = ckd_epi_2021(creatinine_mg_per_dl=creatinine, age_years=age, sex=sex)
    worse = ckd_epi_2021(creatinine_mg_per_dl=creatinine + more, age_years=age, sex=sex)
    older = ckd_epi_2021(creatinine_mg_per_dl=creatinine, age_years=age + 1, sex=sex)
    assert worse < egfr
    assert older < egfr
