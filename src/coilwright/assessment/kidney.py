"""Kidney function from creatinine: adults by the site's equation, children by the bedside formula.

Every estimate needs a creatinine in a steady state. With dialysis or acute kidney injury recorded
the number is shown as one that does not hold, and no other rule goes on with it.
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from coilwright.advice import SHOWN_BESIDE, Advisory, Status, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts, Sex
from coilwright.assessment.kidney_equations import ckd_epi_2009, ckd_epi_2021, schwartz_bedside
from coilwright.protocol import Basis, Citation, Protocol, advise

CKD_EPI_2021 = Citation(
    source=(
        "Inker LA et al., New creatinine- and cystatin C-based equations to estimate GFR without "
        "race, N Engl J Med 2021;385:1737-1749, creatinine equation"
    ),
    status=Status.PUBLISHED,
)
CKD_EPI_2009 = Citation(
    source=(
        "Levey AS et al., A new equation to estimate glomerular filtration rate, Ann Intern Med "
        "2009;150:604-612, without the withdrawn factor for race; form as in BMC Geriatrics 2021, "
        "table 1"
    ),
    status=Status.PUBLISHED,
)
EGFR_UNIT = "mL/min/1.73m2"
ADULT_RULE = "ckd-epi-2021"
OLDER_ADULT_RULE = "ckd-epi-2009"
CHILD_RULE = "schwartz-bedside"
P30_WORDS = "from memory, of adult equations: about nine of ten estimates lie within"
EQUATION_NAMES = {ADULT_RULE: "CKD-EPI 2021", OLDER_ADULT_RULE: "CKD-EPI 2009"}


@dataclass(frozen=True, slots=True, kw_only=True)
class KidneyFunction:
    """The estimate that other rules go on with, what it rests on, or why there is none.

    Without an estimate, either ``missing`` names the keys that are not recorded, or ``refused``
    says why no formula holds.
    """

    egfr: float | None
    basis: tuple[Basis, ...] = ()
    missing: tuple[str, ...] = ()
    refused: str = ""
    advisories: tuple[Advisory, ...] = ()

    @property
    def why_unknown(self) -> str:
        """The reason that completes "cannot be computed: ..."."""
        return self.refused or f"not recorded: {', '.join(self.missing)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class _Estimate:
    rule: str
    egfr: float
    basis: tuple[Basis, ...]
    inputs: Mapping[str, str]
    words: str


def kidney_function(facts: Facts, protocol: Protocol) -> KidneyFunction:
    """The estimate by the formula that covers this patient, or an advisory of what is missing."""
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    if age is None:
        missing = ["patient.birth_date", *_creatinine_missing(facts)]
        return _cannot(followed_equation(protocol), missing, _citation(protocol))
    if age < protocol.limit("ckd-epi-minimum-age").value:
        return _child(facts, protocol, age)
    return _adult(facts, protocol, age)


def followed_equation(protocol: Protocol) -> str:
    """The rule id of the adult equation that the other rules go on with."""
    return protocol.choice("adult-kidney-equation").value


def _adult(facts: Facts, protocol: Protocol, age: int) -> KidneyFunction:
    sex, creatinine = facts.patient.sex, facts.bloods.creatinine
    followed = followed_equation(protocol)
    if sex is None or creatinine is None:
        missing = ["patient.sex"] if sex is None else []
        return _cannot(followed, missing + _creatinine_missing(facts), _citation(protocol))
    value_mg_per_dl = creatinine.value.to("mg/dL")
    newer = _Estimate(
        rule=ADULT_RULE,
        egfr=ckd_epi_2021(creatinine_mg_per_dl=value_mg_per_dl, age_years=age, sex=sex),
        basis=(CKD_EPI_2021,),
        inputs={"creatinine": str(creatinine.value), "age": f"{age} years", "sex": sex.value},
        words="by CKD-EPI 2021",
    )
    older = _older_equation(newer, value_mg_per_dl, (age, sex), protocol)
    first, beside = (newer, older) if followed == ADULT_RULE else (older, newer)
    why = (
        f"{SHOWN_BESIDE}, for comparison with older reports"
        if beside is older
        else f"{SHOWN_BESIDE}: the site follows {EQUATION_NAMES[followed]}"
    )
    return _known(facts, protocol, first, _advisory(facts, protocol, beside, f" ({why})"))


def _older_equation(
    newer: _Estimate, creatinine_mg_per_dl: float, age_and_sex: tuple[int, Sex], protocol: Protocol
) -> _Estimate:
    age, sex = age_and_sex
    factor = protocol.limit("ckd-epi-2009-female-factor")
    egfr = ckd_epi_2009(
        creatinine_mg_per_dl=creatinine_mg_per_dl,
        age_years=age,
        sex=sex,
        female_factor=factor.value,
    )
    return _Estimate(
        rule=OLDER_ADULT_RULE,
        egfr=egfr,
        # For men every constant was read in a published table; the women's factor was not.
        basis=(CKD_EPI_2009, factor) if sex is Sex.FEMALE else (CKD_EPI_2009,),
        inputs=newer.inputs,
        words="by CKD-EPI 2009",
    )


def _child(facts: Facts, protocol: Protocol, age: int) -> KidneyFunction:
    creatinine, height_cm = facts.bloods.creatinine, facts.patient.height_cm
    coefficient = protocol.limit("schwartz-bedside-coefficient")
    youngest = protocol.limit("schwartz-minimum-age")
    if age < youngest.value:
        refused = f"no formula here covers an age below {youngest.value:g} year"
        return _cannot(CHILD_RULE, (), youngest, refused)
    if height_cm is None or creatinine is None:
        missing = ["patient.height"] if height_cm is None else []
        return _cannot(CHILD_RULE, missing + _creatinine_missing(facts), coefficient)
    egfr = schwartz_bedside(
        creatinine_mg_per_dl=creatinine.value.to("mg/dL"),
        height_cm=height_cm,
        coefficient=coefficient.value,
    )
    estimate = _Estimate(
        rule=CHILD_RULE,
        egfr=egfr,
        basis=(coefficient, youngest, protocol.limit("schwartz-maximum-age")),
        inputs={
            "creatinine": str(creatinine.value),
            "height": f"{height_cm:g} cm",
            "age": f"{age} years, below 18: the adult equation does not cover it",
        },
        words=_child_words(facts, protocol),
    )
    return _known(facts, protocol, estimate)


def _child_words(facts: Facts, protocol: Protocol) -> str:
    youngest = protocol.limit("schwartz-minimum-age").value
    oldest = protocol.limit("schwartz-maximum-age").value
    words = "by the bedside formula for children"
    if not _is_older_than(facts, oldest):
        return words
    return f"{words}, stretched beyond the {youngest:g} to {oldest:g} years that it was made for"


def _is_older_than(facts: Facts, years: float) -> bool:
    """Whether the birthday of that age lies before the day, not on it."""
    age_before = age_on_the_day(facts.patient.birth_date, facts.on - dt.timedelta(days=1))
    return age_before is not None and age_before >= years


def _known(facts: Facts, protocol: Protocol, first: _Estimate, *others: Advisory) -> KidneyFunction:
    why = unsteady(facts)
    return KidneyFunction(
        egfr=None if why else first.egfr,
        basis=() if why else first.basis,
        refused=f"the estimate does not hold ({why})" if why else "",
        advisories=(_advisory(facts, protocol, first), *others),
    )


def _advisory(facts: Facts, protocol: Protocol, estimate: _Estimate, aside: str = "") -> Advisory:
    why, band = unsteady(facts), protocol.limit("egfr-p30").value
    text = (
        f"Kidney function about {estimate.egfr:.0f} {EGFR_UNIT} {estimate.words}{aside}; an "
        "estimate from creatinine in a steady state, not a measurement."
    )
    inputs = {
        **estimate.inputs,
        "acute kidney injury": said(facts.conditions.acute_kidney_injury),
        "dialysis": said(facts.conditions.dialysis),
    }
    if why:
        text = f"{text} It does not hold here: {why}; no other rule goes on with it."
    else:
        inputs["range"] = f"{P30_WORDS} {band:g} % of the measured rate"
    return advise(
        rule=estimate.rule,
        urgency=Urgency.CAUTION if why else Urgency.INFO,
        text=text,
        basis=estimate.basis,
        value=estimate.egfr,
        between=None if why else _between(estimate.egfr, band),
        unit=EGFR_UNIT,
        inputs=inputs,
        judges=not aside,
    )


def _between(egfr: float, band_percent: float) -> tuple[float, float]:
    """The measured rates of which the estimate lies within the band: the band is theirs."""
    return egfr / (1.0 + band_percent / 100.0), egfr / (1.0 - band_percent / 100.0)


def unsteady(facts: Facts) -> str:
    """What is recorded that keeps creatinine from a steady state, in words; empty for nothing."""
    conditions = facts.conditions
    present = ["dialysis"] if conditions.dialysis else []
    present += ["acute kidney injury"] if conditions.acute_kidney_injury else []
    return f"{' and '.join(present)} recorded, no steady state" if present else ""


def _creatinine_missing(facts: Facts) -> list[str]:
    return ["bloods.creatinine"] if facts.bloods.creatinine is None else []


def _citation(protocol: Protocol) -> Citation:
    return CKD_EPI_2021 if followed_equation(protocol) == ADULT_RULE else CKD_EPI_2009


def _cannot(rule: str, missing: Sequence[str], basis: Basis, refused: str = "") -> KidneyFunction:
    kidney = KidneyFunction(egfr=None, missing=tuple(missing), refused=refused)
    advisory = advise(
        rule=rule,
        urgency=Urgency.CAUTION,
        text=f"Kidney function cannot be estimated: {kidney.why_unknown}.",
        basis=(basis,),
        missing=missing,
    )
    return replace(kidney, advisories=(advisory,))
