"""The vein network: points where veins meet, the veins between them, and where a catheter enters.

Veins have no direction: blood may run either way. Two veins between the same two points are two
channels. What a vein is worth to close is its ``cost``; what a device needs is its passable width.
"""

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from typing import Annotated

from pydantic import Field

# Outside of these no vein can be meant; they keep the fourth power of a diameter representable.
POSSIBLE_MM = (1e-6, 1e4)
POSSIBLE_COST = (1e-12, 1e12)


class PointKind(StrEnum):
    """What a point is to the blood: where it comes in, where it must not get, or neither."""

    INFLOW = "inflow"
    JUNCTION = "junction"
    OUTFLOW = "outflow"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkPoint:
    """A place where veins begin, meet or end."""

    id: str
    kind: PointKind


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkVein:
    """A vein between two different points, open in both directions.

    ``diameter_mm`` is what was measured, ``relaxed_diameter_mm`` the calibre without spasm where
    it is known. ``cost`` is what closing it takes, in whatever unit the network's maker chose.

    Raises
    ------
    ValueError
        It leaves and enters the same point, or a number is not finite or out of range.
    """

    id: str
    from_point: Annotated[str, Field(serialization_alias="from")]
    to_point: Annotated[str, Field(serialization_alias="to")]
    length_mm: float
    diameter_mm: float
    diameter_sd_mm: float
    relaxed_diameter_mm: float | None = None
    may_occlude: bool
    cost: float = 1.0

    def __post_init__(self) -> None:
        if self.from_point == self.to_point:
            raise ValueError(f"vein {self.id} leaves and enters the same point")
        widths_mm = (self.length_mm, self.diameter_mm, self.passable_mm)
        if not all(_within(value, POSSIBLE_MM) for value in widths_mm):
            raise ValueError(f"vein {self.id}: a length or diameter out of range")
        if not (math.isfinite(self.diameter_sd_mm) and self.diameter_sd_mm >= 0.0):
            raise ValueError(f"vein {self.id}: its standard deviation must be 0 or more")
        if not _within(self.cost, POSSIBLE_COST):
            raise ValueError(f"vein {self.id}: its cost must be above 0 and finite")

    @property
    def passable_mm(self) -> float:
        """The width that decides what passes: relaxed where known, else measured."""
        return self.diameter_mm if self.relaxed_diameter_mm is None else self.relaxed_diameter_mm

    def other_end(self, point: str) -> str:
        """The point at the other end from ``point``."""
        return self.to_point if point == self.from_point else self.from_point


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkCatheter:
    """The point where the smallest device available enters, and its outer diameter."""

    enters_at: str
    outer_diameter_mm: float


@dataclass(frozen=True, kw_only=True)
class VeinNetwork:
    """Points, veins and the catheter. It has no slots, so that its properties can be kept.

    Raises
    ------
    ValueError
        An id twice, a point that is not there, no inflow or no outflow.
    """

    points: tuple[NetworkPoint, ...]
    veins: tuple[NetworkVein, ...]
    catheter: NetworkCatheter

    def __post_init__(self) -> None:
        ids = {point.id for point in self.points}
        twice = repeated(p.id for p in self.points) | repeated(v.id for v in self.veins)
        if twice:
            raise ValueError(f"ids stand twice: {sorted(twice)}")
        named = {end for vein in self.veins for end in (vein.from_point, vein.to_point)}
        if not named | {self.catheter.enters_at} <= ids:
            raise ValueError("a vein or the catheter names a point that is not there")
        if not (self.inflows and self.outflows):
            raise ValueError("a network needs an inflow and an outflow")
        if not _within(self.catheter.outer_diameter_mm, POSSIBLE_MM):
            raise ValueError("the catheter's outer diameter is out of range")

    @cached_property
    def inflows(self) -> frozenset[str]:
        """Ids of the points where blood enters from above."""
        return frozenset(p.id for p in self.points if p.kind is PointKind.INFLOW)

    @cached_property
    def outflows(self) -> frozenset[str]:
        """Ids of the points that blood must not reach."""
        return frozenset(p.id for p in self.points if p.kind is PointKind.OUTFLOW)


def veins_at(veins: Iterable[NetworkVein]) -> dict[str, list[NetworkVein]]:
    """The veins that meet each point, in their order."""
    found: dict[str, list[NetworkVein]] = {}
    for vein in veins:
        found.setdefault(vein.from_point, []).append(vein)
        found.setdefault(vein.to_point, []).append(vein)
    return found


def repeated(ids: Iterable[str]) -> set[str]:
    """Those that stand more than once."""
    return {one for one, times in Counter(ids).items() if times > 1}


def joined_to(starts: Iterable[str], veins: Iterable[NetworkVein]) -> set[str]:
    """Every point that a path along ``veins`` joins to one of ``starts``, these included."""
    at_point = veins_at(veins)
    found = set(starts)
    waiting = list(found)
    while waiting:
        point = waiting.pop()
        for vein in at_point.get(point, ()):
            other = vein.other_end(point)
            if other not in found:
                found.add(other)
                waiting.append(other)
    return found


def _within(value: float, between: tuple[float, float]) -> bool:
    return math.isfinite(value) and between[0] <= value <= between[1]
