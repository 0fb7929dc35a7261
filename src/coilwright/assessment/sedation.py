"""Sedatives given so far against the site's ceilings for adults; a child has no ceiling here."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import Sedative
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import COMMON_PRACTICE, Basis, Limit, Protocol, advise, louder

MIDAZOLAM_RULE = "sedation-midazolam-max"
FENTANYL_RULE = "sedation-fentanyl-max"
RULES = {Sedative.MIDAZOLAM: MIDAZOLAM_RULE, Sedative.FENTANYL: FENTANYL_RULE}
TOGETHER = (
    "Midazolam and fentanyl are both given: their depressant effects on breathing and pressure "
    "add, and neither ceiling allows for the other."
)
_PER_MG = {"mg": 1.0, "ug": 1000.0}


def sedation_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The total and ceiling of what was given, of both where sedation is planned, or nothing."""
    given = {dose.drug for dose in facts.given.sedation}
    drugs = given or (set(Sedative) if facts.sedation_planned else set())
    return tuple(_total(drug, facts, protocol) for drug in Sedative if drug in drugs)


def _total(drug: Sedative, facts: Facts, protocol: Protocol) -> Advisory:
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    minimum_age = protocol.limit("sedation-minimum-age")
    if age is None:
        why = "cannot be judged: not recorded: patient.birth_date"
        return _no_ceiling(drug, facts, why, (COMMON_PRACTICE,), ("patient.birth_date",))
    if age < minimum_age.value:
        why = f"has no ceiling here below {minimum_age.value:g} years: ask who sedates children"
        return _no_ceiling(drug, facts, why, (minimum_age,))
    older = age >= protocol.limit("sedation-older-age").value
    limit = protocol.limit(f"sedation-{drug}-{'older' if older else 'adult'}")
    return _against(drug, facts, protocol, limit, age, older)


def _against(
    drug: Sedative, facts: Facts, protocol: Protocol, limit: Limit, age: int, older: bool
) -> Advisory:
    given = _given_mg(drug, facts) * _PER_MG[limit.unit]
    older_age, both = protocol.limit("sedation-older-age"), _both_given(facts)
    urgency = total_urgency(given, limit.value, protocol)
    whom = f"from {older_age.value:g} years on" if older else "adults"
    sentences = (
        f"{drug.capitalize()}: ceiling {limit.value:g} {limit.unit} in all ({whom}); recorded as "
        f"given {given:g} {limit.unit}, left {left_of(given, limit.value):g} {limit.unit}.",
        TOGETHER if both else "",
    )
    return advise(
        rule=RULES[drug],
        urgency=louder(urgency, Urgency.CAUTION) if both else urgency,
        text=" ".join(filter(None, sentences)),
        basis=(limit, older_age) if older else (limit,),
        value=given,
        limit=limit.value,
        left=left_of(given, limit.value),
        unit=limit.unit,
        inputs={"given": f"{given:g} {limit.unit}", "age": f"{age} years"},
    )


def _no_ceiling(
    drug: Sedative,
    facts: Facts,
    why: str,
    basis: tuple[Basis, ...],
    missing: tuple[str, ...] = (),
) -> Advisory:
    given_mg = _given_mg(drug, facts)
    sentences = (
        f"{drug.capitalize()} {why}. Recorded as given {given_mg:g} mg.",
        TOGETHER if _both_given(facts) else "",
    )
    return advise(
        rule=RULES[drug],
        urgency=Urgency.STOP_AND_THINK if given_mg > 0 and not missing else Urgency.CAUTION,
        text=" ".join(filter(None, sentences)),
        basis=basis,
        value=given_mg,
        unit="mg",
        inputs={"given": f"{given_mg:g} mg"},
        missing=missing,
    )


def _given_mg(drug: Sedative, facts: Facts) -> float:
    return sum((dose.mass_mg for dose in facts.given.sedation if dose.drug is drug), 0.0)


def _both_given(facts: Facts) -> bool:
    return all(_given_mg(drug, facts) > 0 for drug in Sedative)
