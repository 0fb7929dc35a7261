"""The most lidocaine in all, by the label that the site follows, and what the others say.

Masses are of lidocaine hydrochloride, in which strengths are labelled.
"""

from dataclasses import dataclass

from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.dosing_weight import DosingWeight, dosing_weight
from coilwright.assessment.facts import Facts
from coilwright.protocol import Limit, Protocol

LABEL_WORDS = {
    "us-label": "US label",
    "bnf": "British National Formulary",
    "ie-smpc": "Irish and UK product summaries",
}
# The rows of the protocol that hold each label's figures; without a row, no figure per kg.
_ROWS = {"us-label": "us", "bnf": "bnf", "ie-smpc": "smpc"}
_PER_KG = {("us-label", "plain"), ("us-label", "adrenaline"), ("ie-smpc", "plain")}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """The most that may be given in all, in mg; None where something is missing for it."""

    mass_mg: float | None
    basis: tuple[Limit, ...]
    missing: tuple[str, ...] = ()
    words: str = ""
    doubtful: bool = False


def lidocaine_ceiling_mg(
    *, per_kg_mg: float | None, maximum_mg: float, weight_kg: float | None
) -> float | None:
    """Ceiling in mg: per body weight, never above the maximum; None where the weight is missing.

    References
    ----------
    US prescribing information, lidocaine hydrochloride: 4.5 mg/kg and 300 mg plain, 7 mg/kg and
    500 mg with adrenaline. British National Formulary: 200 mg and 500 mg, not per weight.

    Examples
    --------
    >>> lidocaine_ceiling_mg(per_kg_mg=4.5, maximum_mg=300, weight_kg=50)
    225.0
    """
    if per_kg_mg is None:
        return maximum_mg
    return None if weight_kg is None else min(per_kg_mg * weight_kg, maximum_mg)


def lidocaine_base_mg(hydrochloride_mg: float, protocol: Protocol) -> float:
    """Mass of lidocaine base in mg in a mass of the hydrochloride (monohydrate) in mg.

    References
    ----------
    UK summary of product characteristics, lidocaine hydrochloride 2 %: 20 mg is 16.22 mg of base.
    """
    return hydrochloride_mg * protocol.limit("lidocaine-base-share").value


def lidocaine_ceiling(facts: Facts, protocol: Protocol, *, adrenaline: bool) -> Ceiling:
    """The ceiling by the label that the site follows; in a child never above that of children."""
    return ceiling_by(protocol.choice("lidocaine-label").value, facts, protocol, adrenaline)


def ceiling_by(label: str, facts: Facts, protocol: Protocol, adrenaline: bool) -> Ceiling:
    """The ceiling by one label, whichever the site follows."""
    per_kg, maximum = _label_limits(label, protocol, adrenaline)
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    weight = dosing_weight(facts, protocol, age)
    mass_mg = lidocaine_ceiling_mg(
        per_kg_mg=None if per_kg is None else per_kg.value,
        maximum_mg=maximum.value,
        weight_kg=weight.weight_kg,
    )
    if age is not None and age < protocol.limit("lidocaine-child-age-below").value:
        basis = (maximum,) if per_kg is None else (per_kg, maximum)
        return _child_ceiling(mass_mg, basis, weight, protocol)
    if per_kg is None:
        return _with_age(Ceiling(mass_mg=mass_mg, basis=(maximum,)), age)
    ceiling = Ceiling(
        mass_mg=mass_mg,
        basis=(per_kg, maximum, *weight.basis),
        missing=weight.missing,
        words=weight.words,
        doubtful=weight.doubtful,
    )
    return _with_age(ceiling, age)


def other_labels(facts: Facts, protocol: Protocol, *, adrenaline: bool) -> dict[str, str]:
    """What the labels and habits that are not followed would allow, in words of the reader."""
    followed = protocol.choice("lidocaine-label").value
    found = {}
    for label, name in LABEL_WORDS.items():
        if label != followed:
            mass_mg = ceiling_by(label, facts, protocol, adrenaline).mass_mg
            found[name] = "cannot be computed" if mass_mg is None else f"{mass_mg:.0f} mg"
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    weight_kg = dosing_weight(facts, protocol, age).weight_kg
    if not adrenaline and weight_kg is not None:
        habit = protocol.limit("lidocaine-habit-plain-per-kg")
        mass_mg = habit.value * weight_kg
        found[f"rule of thumb of {habit.value:g} mg/kg"] = f"{mass_mg:.0f} mg, {habit.status}"
    return found


def _label_limits(label: str, protocol: Protocol, adrenaline: bool) -> tuple[Limit | None, Limit]:
    kind = "adrenaline" if adrenaline else "plain"
    row = f"lidocaine-{_ROWS[label]}-{kind}"
    per_kg = protocol.limit(f"{row}-per-kg") if (label, kind) in _PER_KG else None
    return per_kg, protocol.limit(f"{row}-maximum")


def _with_age(ceiling: Ceiling, age: int | None) -> Ceiling:
    if age is not None:
        return ceiling
    return Ceiling(
        mass_mg=ceiling.mass_mg,
        basis=ceiling.basis,
        missing=(*ceiling.missing, "patient.birth_date"),
        words=f"{ceiling.words} In a child less holds.".strip(),
        doubtful=ceiling.doubtful,
    )


def _child_ceiling(
    mass_mg: float | None, basis: tuple[Limit, ...], weight: DosingWeight, protocol: Protocol
) -> Ceiling:
    per_kg = protocol.limit("lidocaine-child-per-kg")
    basis = (*basis, *weight.basis, per_kg, protocol.limit("lidocaine-child-age-below"))
    if weight.weight_kg is None or mass_mg is None:
        return Ceiling(mass_mg=None, basis=basis, missing=weight.missing)
    return Ceiling(
        mass_mg=min(mass_mg, per_kg.value * weight.weight_kg),
        basis=basis,
        missing=weight.missing,
        words=f"In a child no more than {per_kg.value:g} mg/kg. {weight.words}".strip(),
        doubtful=weight.doubtful,
    )
