"""The body weight that a dose of local anaesthetic is reckoned on: ideal weight in obesity.

Where obesity begins the ceiling steps down, so it grows with weight on either side of that line
alone: the advice to use ideal weight in obesity (British National Formulary) has no bridge.
"""

from dataclasses import dataclass

from coilwright.assessment.facts import Facts, Sex
from coilwright.protocol import Limit, Protocol
from coilwright.units import mm_to_inch

# Devine counts from 60 inches; part of his formula, as the base weight and the slope are.
DEVINE_FROM_INCH = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class DosingWeight:
    """A weight in kg, what it rests on, and what could not be checked for want of data.

    ``doubtful`` is set where ``words`` say that the weight may be too high or cannot be had.
    """

    weight_kg: float | None
    basis: tuple[Limit, ...] = ()
    missing: tuple[str, ...] = ()
    words: str = ""
    doubtful: bool = False


def dosing_weight(facts: Facts, protocol: Protocol, age: int | None) -> DosingWeight:
    """Body weight as recorded, or the ideal weight of an obese adult where that is less."""
    weight_kg, height_cm = facts.patient.weight_kg, facts.patient.height_cm
    if weight_kg is None:
        return DosingWeight(weight_kg=None, missing=("patient.weight",))
    child = age is not None and age < protocol.limit("lidocaine-child-age-below").value
    if height_cm is None:
        return _unchecked(weight_kg, child)
    obese_from = protocol.limit("obesity-body-mass-index")
    if weight_kg / (height_cm / 100.0) ** 2 < obese_from.value:
        return DosingWeight(weight_kg=weight_kg)
    if child:
        return _obese_child(weight_kg, obese_from)
    return _ideal(facts.patient.sex, weight_kg, height_cm, protocol, obese_from)


def _unchecked(weight_kg: float, child: bool) -> DosingWeight:
    if child:
        return DosingWeight(weight_kg=weight_kg)
    words = "Whether ideal weight in obesity applies could not be checked."
    return DosingWeight(weight_kg=weight_kg, missing=("patient.height",), words=words)


def _obese_child(weight_kg: float, obese_from: Limit) -> DosingWeight:
    words = (
        f"Reckoned on {weight_kg:g} kg although the body mass index is {obese_from.value:g} or "
        "more: no ideal weight of children is held here, so the ceiling may be too high."
    )
    return DosingWeight(weight_kg=weight_kg, basis=(obese_from,), words=words, doubtful=True)


def _ideal(
    sex: Sex | None, weight_kg: float, height_cm: float, protocol: Protocol, obese_from: Limit
) -> DosingWeight:
    height_inch = mm_to_inch(height_cm * 10.0)
    if height_inch < DEVINE_FROM_INCH:
        words = (
            f"Obese, and the formula of ideal weight begins at {DEVINE_FROM_INCH:g} inches "
            "(152.4 cm): set the dosing weight by hand."
        )
        return DosingWeight(weight_kg=None, basis=(obese_from,), words=words, doubtful=True)
    if sex is None:
        return DosingWeight(weight_kg=None, basis=(obese_from,), missing=("patient.sex",))
    base = protocol.limit(f"ideal-weight-base-{sex.value}")
    slope = protocol.limit("ideal-weight-per-inch")
    ideal_kg = base.value + slope.value * (height_inch - DEVINE_FROM_INCH)
    basis = (obese_from, base, slope)
    if ideal_kg >= weight_kg:  # a site may draw the line of obesity low
        return DosingWeight(weight_kg=weight_kg, basis=basis)
    return DosingWeight(
        weight_kg=ideal_kg,
        basis=basis,
        words=f"Reckoned on the ideal weight of {ideal_kg:.0f} kg, not on {weight_kg:g} kg.",
    )
