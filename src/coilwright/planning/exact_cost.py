"""Costs added and compared without rounding: 0.1 + 0.2 is as dear as 0.3."""

from collections.abc import Iterable
from fractions import Fraction
from math import lcm

from coilwright.veins.vein_network import NetworkVein


def exact_cost(vein: NetworkVein) -> Fraction:
    """The cost as the decimal that was written.

    A float's shortest decimal is that decimal, up to fifteen digits.
    """
    return Fraction(repr(vein.cost))


def whole_costs(veins: Iterable[NetworkVein]) -> dict[str, int]:
    """The costs by vein id as whole numbers of one common part, so that sums are exact."""
    exact = {vein.id: exact_cost(vein) for vein in veins}
    parts = lcm(*(cost.denominator for cost in exact.values()))
    return {one: int(cost * parts) for one, cost in exact.items()}


def total_cost(veins: Iterable[NetworkVein]) -> float:
    """The sum, rounded once."""
    return float(sum((exact_cost(vein) for vein in veins), Fraction(0)))
