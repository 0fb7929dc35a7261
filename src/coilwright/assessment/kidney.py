"""Kidney function from creatinine: adults by CKD-EPI 2021, children by the bedside formula."""

from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.facts import Facts, Sex
from coilwright.protocol import Basis, Citation, Protocol, advise

CKD_EPI_2021 = Citation(
    source=(
        "Inker LA et al., New creatinine- and cystatin C-based equations to estimate GFR without "
        "race, N Engl J Med 2021;385:1737-1749, creatinine equation"
    ),
    status=Status.PUBLISHED,
)
EGFR_UNIT = "mL/min/1.73m2"
ADULT_RULE = "ckd-epi-2021"
CHILD_RULE = "schwartz-bedside"


@dataclass(frozen=True, slots=True, kw_only=True)
class KidneyFunction:
    """The estimate that other rules go on with, what it rests on, or what it lacks."""

    egfr: float | None
    basis: tuple[Basis, ...] = ()
    missing: tuple[str, ...] = ()
    advisories: tuple[Advisory, ...] = ()


def ckd_epi_2021(*, creatinine_mg_per_dl: float, age_years: float, sex: Sex) -> float:
    """Estimated filtration rate of an adult in mL/min/1.73 m2.

    Raises
    ------
    ValueError
        The creatinine is not positive, or the age is below 18, which the equation does not cover.

    References
    ----------
    Inker LA et al., N Engl J Med 2021;385:1737-1749: 142 x min(Scr/k, 1)^a x max(Scr/k, 1)^-1.200
    x 0.9938^age, and x 1.012 for women; k 0.7 and a -0.241 for women, 0.9 and -0.302 for men.

    Examples
    --------
    >>> round(ckd_epi_2021(creatinine_mg_per_dl=1.0, age_years=30, sex=Sex.MALE), 2)
    103.84
    """
    if creatinine_mg_per_dl <= 0 or age_years < 18:
        raise ValueError("the equation needs a positive creatinine and an age of 18 or more")
    female = sex is Sex.FEMALE
    kappa, alpha = (0.7, -0.241) if female else (0.9, -0.302)
    ratio = creatinine_mg_per_dl / kappa
    egfr: float = 142.0 * min(ratio, 1.0) ** alpha * max(ratio, 1.0) ** -1.200 * 0.9938**age_years
    return egfr * 1.012 if female else egfr


def schwartz_bedside(*, creatinine_mg_per_dl: float, height_cm: float, coefficient: float) -> float:
    """Estimated filtration rate of a child in mL/min/1.73 m2: coefficient x height / creatinine.

    Raises
    ------
    ValueError
        The creatinine or the height is not positive.
    """
    if creatinine_mg_per_dl <= 0 or height_cm <= 0:
        raise ValueError("the formula needs a positive creatinine and height")
    return coefficient * height_cm / creatinine_mg_per_dl


def kidney_function(facts: Facts, protocol: Protocol) -> KidneyFunction:
    """The estimate by the formula that covers this patient, or an advisory of what is missing."""
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    creatinine = facts.bloods.creatinine
    if age is None or creatinine is None:
        missing = [] if age is not None else ["patient.birth_date"]
        missing += [] if creatinine is not None else ["bloods.creatinine"]
        return _cannot(ADULT_RULE, missing, CKD_EPI_2021)
    if age < protocol.limit("ckd-epi-minimum-age").value:
        return _child(facts, protocol, age)
    return _adult(facts, age)


def _adult(facts: Facts, age: int) -> KidneyFunction:
    sex, creatinine = facts.patient.sex, facts.bloods.creatinine
    if sex is None or creatinine is None:
        return _cannot(ADULT_RULE, ["patient.sex"], CKD_EPI_2021)
    egfr = ckd_epi_2021(creatinine_mg_per_dl=creatinine.value.to("mg/dL"), age_years=age, sex=sex)
    inputs = {"creatinine": str(creatinine.value), "age": f"{age} years", "sex": sex.value}
    return _known(ADULT_RULE, egfr, (CKD_EPI_2021,), inputs, "CKD-EPI 2021")


def _child(facts: Facts, protocol: Protocol, age: int) -> KidneyFunction:
    coefficient, creatinine = (
        protocol.limit("schwartz-bedside-coefficient"),
        facts.bloods.creatinine,
    )
    height_cm = facts.patient.height_cm
    if height_cm is None or creatinine is None:
        return _cannot(CHILD_RULE, ["patient.height"], coefficient)
    egfr = schwartz_bedside(
        creatinine_mg_per_dl=creatinine.value.to("mg/dL"),
        height_cm=height_cm,
        coefficient=coefficient.value,
    )
    inputs = {
        "creatinine": str(creatinine.value),
        "height": f"{height_cm:g} cm",
        "age": f"{age} years, below 18: the adult equation does not cover it",
    }
    return _known(CHILD_RULE, egfr, (coefficient,), inputs, "the bedside formula for children")


def _known(
    rule: str, egfr: float, basis: tuple[Basis, ...], inputs: dict[str, str], formula: str
) -> KidneyFunction:
    advisory = advise(
        rule=rule,
        urgency=Urgency.INFO,
        text=f"Kidney function about {egfr:.0f} {EGFR_UNIT} by {formula}; an estimate from "
        "creatinine in a steady state, not a measurement.",
        basis=basis,
        value=egfr,
        unit=EGFR_UNIT,
        inputs=inputs,
    )
    return KidneyFunction(egfr=egfr, basis=basis, advisories=(advisory,))


def _cannot(rule: str, missing: list[str], basis: Basis) -> KidneyFunction:
    advisory = advise(
        rule=rule,
        urgency=Urgency.CAUTION,
        text=f"Kidney function cannot be estimated: not recorded: {', '.join(missing)}.",
        basis=(basis,),
        missing=missing,
    )
    return KidneyFunction(egfr=None, missing=tuple(missing), advisories=(advisory,))
