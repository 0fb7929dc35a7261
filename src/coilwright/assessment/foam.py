"""Foam of a sclerosant: what liquid and gas make, and which foams a case holds.

Gas carries no drug: the mass of the drug in foam is all in the liquid that was foamed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.assessment.facts import Facts
from coilwright.assessment.given import SclerosantDrug, SclerosantGiven

# Volumes are read off syringes: a ratio this near to the usual one is the usual one.
SAME_RATIO = 1e-6


def foam_volume_ml(liquid_ml: float, gas_per_liquid: float) -> float:
    """Volume in mL of the foam of some liquid and ``gas_per_liquid`` times as much gas.

    Examples
    --------
    >>> foam_volume_ml(2.0, 4.0)
    10.0
    """
    return liquid_ml * (1.0 + gas_per_liquid)


def foam_mean_mg_per_ml(strength_mg_per_ml: float, gas_per_liquid: float) -> float:
    """Mean strength in mg/mL of a foam; the drug is in its liquid alone.

    Examples
    --------
    >>> foam_mean_mg_per_ml(30.0, 4.0)
    6.0
    """
    return strength_mg_per_ml / (1.0 + gas_per_liquid)


@dataclass(frozen=True, slots=True, kw_only=True)
class Foam:
    """Foam of one drug, strength and ratio; ``liquid_ml`` is None while it is only planned."""

    drug: SclerosantDrug
    strength_mg_per_ml: float
    gas_per_liquid: float
    liquid_ml: float | None = None


def given_foams(doses: Sequence[SclerosantGiven]) -> list[Foam]:
    """Every foam that was made by hand; the same foam given twice is one of twice the volume."""
    foams: list[Foam] = []
    for dose in doses:
        if dose.gas_ml > 0 and dose.liquid_ml > 0:
            foams = _added(foams, _foam_of(dose))
    return foams


def _foam_of(dose: SclerosantGiven) -> Foam:
    return Foam(
        drug=dose.drug,
        strength_mg_per_ml=dose.strength_mg_per_ml,
        gas_per_liquid=dose.gas_ml / dose.liquid_ml,
        liquid_ml=dose.liquid_ml,
    )


def _added(foams: list[Foam], foam: Foam) -> list[Foam]:
    others = [other for other in foams if not same_foam(other, foam)]
    same = [other for other in foams if same_foam(other, foam)]
    liquid_ml = sum((other.liquid_ml or 0.0 for other in (*same, foam)), 0.0)
    joined = Foam(
        drug=foam.drug,
        strength_mg_per_ml=foam.strength_mg_per_ml,
        gas_per_liquid=foam.gas_per_liquid,
        liquid_ml=liquid_ml,
    )
    return [*others, joined]


def same_foam(one: Foam, other: Foam) -> bool:
    """Whether drug, strength and ratio are the same, whatever the volume."""
    return (one.drug, one.strength_mg_per_ml) == (other.drug, other.strength_mg_per_ml) and (
        math.isclose(one.gas_per_liquid, other.gas_per_liquid, rel_tol=SAME_RATIO)
    )


def planned_foam(facts: Facts) -> Foam | None:
    """The foam that lies ready, where its ratio is stated."""
    planned = facts.sclerosant
    if planned is None or planned.foam is False or planned.gas_per_liquid is None:
        return None
    return Foam(
        drug=planned.drug,
        strength_mg_per_ml=planned.strength_mg_per_ml,
        gas_per_liquid=planned.gas_per_liquid,
    )
