"""The body weight that a dose of local anaesthetic is reckoned on: ideal weight in obesity."""

from dataclasses import dataclass

from coilwright.assessment.facts import Facts, Sex
from coilwright.protocol import Limit, Protocol
from coilwright.units import mm_to_inch

# Devine counts from 60 inches; part of his formula, as the base weight and the slope are.
DEVINE_FROM_INCH = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DosingWeight:
    """A weight in kg, what it rests on, and what could not be checked for want of data."""

    weight_kg: float | None
    basis: tuple[Limit, ...] = ()
    missing: tuple[str, ...] = ()
    words: str = ""


def dosing_weight(facts: Facts, protocol: Protocol, age: int | None) -> DosingWeight:
    """Body weight as recorded, or the ideal weight of an obese adult where that is less."""
    weight_kg, height_cm = facts.patient.weight_kg, facts.patient.height_cm
    if weight_kg is None:
        return DosingWeight(weight_kg=None, missing=("patient.weight",))
    if age is not None and age < protocol.limit("lidocaine-child-age-below").value:
        return DosingWeight(weight_kg=weight_kg)
    if height_cm is None:
        words = "Whether ideal weight in obesity applies could not be checked."
        return DosingWeight(weight_kg=weight_kg, missing=("patient.height",), words=words)
    obese_from = protocol.limit("obesity-body-mass-index")
    if weight_kg / (height_cm / 100.0) ** 2 < obese_from.value:
        return DosingWeight(weight_kg=weight_kg)
    return _ideal(facts.patient.sex, weight_kg, height_cm, protocol, obese_from)


def _ideal(
    sex: Sex | None, weight_kg: float, height_cm: float, protocol: Protocol, obese_from: Limit
) -> DosingWeight:
    if sex is None:
        return DosingWeight(weight_kg=None, basis=(obese_from,), missing=("patient.sex",))
    base = protocol.limit(f"ideal-weight-base-{sex.value}")
    slope = protocol.limit("ideal-weight-per-inch")
    ideal_kg = base.value + slope.value * (mm_to_inch(height_cm * 10.0) - DEVINE_FROM_INCH)
    return DosingWeight(
        weight_kg=min(ideal_kg, weight_kg),
        basis=(obese_from, base, slope),
        words=f"Reckoned on the ideal weight of {ideal_kg:.0f} kg, not on {weight_kg:g} kg.",
    )
