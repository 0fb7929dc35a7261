"""The most of each local anaesthetic other than lidocaine, and what of it was given.

The figures are for adults and one session. They are from memory until the site signs for them, so
no total here ever looks satisfied before that.
"""

from collections.abc import Sequence

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.dosing_weight import dosing_weight
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import LocalAnaesthetic, OtherAnaestheticGiven
from coilwright.assessment.lidocaine_ceiling import Ceiling, lidocaine_ceiling_mg
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Protocol, advise, louder
from coilwright.units import mg_per_ml_to_percent

ADULTS = "The figures are for adults."


def other_anaesthetic_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Given and ceiling of every other local anaesthetic that was given."""
    return tuple(_total(drug, facts, protocol) for drug in drugs_given(facts))


def drugs_given(facts: Facts) -> tuple[LocalAnaesthetic, ...]:
    """The local anaesthetics other than lidocaine that were given, in a fixed order."""
    given = {dose.drug for dose in facts.given.other_anaesthetics}
    return tuple(drug for drug in LocalAnaesthetic if drug in given)


def doses_of(drug: LocalAnaesthetic, facts: Facts) -> tuple[OtherAnaestheticGiven, ...]:
    """Every dose of one drug."""
    return tuple(dose for dose in facts.given.other_anaesthetics if dose.drug is drug)


def mass_given_mg(drug: LocalAnaesthetic, facts: Facts) -> float:
    """What was given of one drug, in mg, without and with adrenaline together."""
    return sum((dose.mass_mg for dose in doses_of(drug, facts)), 0.0)


def other_ceiling(drug: LocalAnaesthetic, facts: Facts, protocol: Protocol) -> Ceiling:
    """The ceiling of one drug; that without adrenaline once any dose had none."""
    with_adrenaline = all(dose.adrenaline for dose in doses_of(drug, facts))
    row = f"{_rows_of(drug, protocol)}-{'adrenaline' if with_adrenaline else 'plain'}"
    per_kg, maximum = protocol.limit(f"{row}-per-kg"), protocol.limit(f"{row}-maximum")
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    weight = dosing_weight(facts, protocol, age)
    adult = age is not None and age >= protocol.limit("lidocaine-child-age-below").value
    return Ceiling(
        mass_mg=lidocaine_ceiling_mg(
            per_kg_mg=per_kg.value, maximum_mg=maximum.value, weight_kg=weight.weight_kg
        ),
        basis=(per_kg, maximum, *weight.basis),
        missing=weight.missing if age is not None else (*weight.missing, "patient.birth_date"),
        words=weight.words if adult else f"{weight.words} {ADULTS} In a child less holds.".strip(),
        doubtful=weight.doubtful or not adult,
    )


def _rows_of(drug: LocalAnaesthetic, protocol: Protocol) -> str:
    """Bupivacaine stands twice: the US label and the British National Formulary differ."""
    if drug is not LocalAnaesthetic.BUPIVACAINE:
        return drug.value
    label = protocol.choice("lidocaine-label").value
    return "bupivacaine-us" if label == "us-label" else "bupivacaine-bnf"


def _total(drug: LocalAnaesthetic, facts: Facts, protocol: Protocol) -> Advisory:
    ceiling, given_mg = other_ceiling(drug, facts, protocol), mass_given_mg(drug, facts)
    urgency = Urgency.CAUTION if ceiling.missing or ceiling.doubtful else Urgency.INFO
    if ceiling.mass_mg is not None:
        urgency = louder(urgency, total_urgency(given_mg, ceiling.mass_mg, protocol))
    words = (
        *_ceiling_words(drug, ceiling, given_mg, facts),
        ceiling.words,
        _disagreement(drug, protocol),
        f"Not recorded: {', '.join(ceiling.missing)}." if ceiling.missing else "",
    )
    return advise(
        rule=f"{drug.value}-max",
        urgency=urgency if ceiling.mass_mg is not None else louder(urgency, Urgency.CAUTION),
        text=" ".join(filter(None, words)),
        basis=ceiling.basis,
        value=given_mg,
        limit=ceiling.mass_mg,
        unit="mg",
        inputs=_inputs(doses_of(drug, facts), facts),
        missing=ceiling.missing,
    )


def _ceiling_words(
    drug: LocalAnaesthetic, ceiling: Ceiling, given_mg: float, facts: Facts
) -> tuple[str, ...]:
    name = drug.value.capitalize()
    if ceiling.mass_mg is None:
        return (f"The ceiling for {drug.value} cannot be computed; given {given_mg:g} mg.",)
    kinds = {dose.adrenaline for dose in doses_of(drug, facts)}
    mixed = "Given without and with adrenaline: the lower ceiling holds." if len(kinds) > 1 else ""
    return (
        f"{name} {'with' if kinds == {True} else 'without'} adrenaline: ceiling "
        f"{ceiling.mass_mg:.0f} mg; recorded as given {given_mg:g} mg, of its own ceiling "
        f"{left_of(given_mg, ceiling.mass_mg):.0f} mg left.",
        mixed,
    )


def _disagreement(drug: LocalAnaesthetic, protocol: Protocol) -> str:
    if drug is not LocalAnaesthetic.BUPIVACAINE:
        return ""
    us, bnf = (protocol.limit(f"bupivacaine-{row}-plain-maximum") for row in ("us", "bnf"))
    return (
        f"Sources disagree: without adrenaline at most {us.value:g} mg by the US label, "
        f"{bnf.value:g} mg by the British National Formulary."
    )


def _inputs(doses: Sequence[OtherAnaestheticGiven], facts: Facts) -> dict[str, str]:
    weight_kg = facts.patient.weight_kg
    found = {"weight": "not recorded" if weight_kg is None else f"{weight_kg:g} kg"}
    for number, dose in enumerate(doses, start=1):
        kind = "with" if dose.adrenaline else "without"
        found[f"dose {number}"] = (
            f"{dose.volume_ml:g} mL of {mg_per_ml_to_percent(dose.strength_mg_per_ml):g} % "
            f"{kind} adrenaline, {dose.mass_mg:g} mg"
        )
    return found
