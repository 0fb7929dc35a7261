"""The scale of the straightened vein: millimetres along it and across it to picture units."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from coilwright.documents.page_veins import trunk_origin_mm
from coilwright.planning.trunk_course import project_onto
from coilwright.veins import Landmark, VeinMap, Vessel

WIDTH, HEIGHT = 1000.0, 372.0
LEFT, RIGHT = 70.0, 970.0
MIDDLE = 150.0
AXIS = 318.0
# The widest calibre with its uncertainty may reach this far from the middle line.
HALF_BAND = 52.0
TICK_MM = 20.0
USUAL_CALIBRE_MM = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class VeinScale:
    """``x`` and ``half`` turn arcs of the trunk and calibres into picture units.

    ``origin_mm`` is the arc that distances are told from; ``widen`` how many times wider than
    long a calibre is drawn.
    """

    origin_mm: float
    origin_words: str
    first_mm: float
    last_mm: float
    widen: int

    @property
    def per_mm(self) -> float:
        """Picture units per millimetre along the vein."""
        return (RIGHT - LEFT) / (self.last_mm - self.first_mm)

    def x(self, arc_mm: float) -> float:
        """Place across the picture of an arc of the trunk."""
        return LEFT + (arc_mm - self.first_mm) * self.per_mm

    def half(self, diameter_mm: float) -> float:
        """Half the drawn width of a calibre."""
        return max(diameter_mm, 0.0) * self.per_mm * self.widen / 2

    def ticks_mm(self) -> Iterator[float]:
        """Distances from the origin at which the axis has a tick."""
        step = TICK_MM * math.ceil((self.last_mm - self.first_mm) / (20 * TICK_MM))
        tick = math.ceil((self.first_mm - self.origin_mm) / step) * step
        while tick <= self.last_mm - self.origin_mm + 1e-6:
            yield tick
            tick += step


def vein_scale(vein_map: VeinMap, trunk: Vessel) -> VeinScale:
    """A scale that holds the trunk, the ostium and the marks of bone below it."""
    origin_mm, words = trunk_origin_mm(vein_map, trunk)
    marks = [mark_arc_mm(vein_map, trunk, mark) for mark in _bone_marks(vein_map)]
    first_mm = min(origin_mm, trunk.arc_mm[0])
    last_mm = max([trunk.arc_mm[-1], first_mm + 1.0, *marks])
    per_mm = (RIGHT - LEFT) / (last_mm - first_mm)
    widen = max(1, min(8, math.floor(2 * HALF_BAND / (widest_mm(trunk) * per_mm))))
    return VeinScale(
        origin_mm=origin_mm, origin_words=words, first_mm=first_mm, last_mm=last_mm, widen=widen
    )


def mark_arc_mm(vein_map: VeinMap, trunk: Vessel, mark: Landmark) -> float:
    """The arc of the trunk that a mark lies at."""
    scale = vein_map.calibration.mm_per_pixel
    return project_onto(trunk, mark.point_px, mm_per_pixel=scale).arc_mm


def widest_mm(trunk: Vessel) -> float:
    """The widest calibre of the trunk with its uncertainty and its relaxed narrowings."""
    measured = [
        diameter + (sd or 0.0)
        for diameter, sd in zip(trunk.diameter_mm, trunk.diameter_sd_mm, strict=True)
        if diameter is not None
    ]
    return max(measured, default=USUAL_CALIBRE_MM)


def _bone_marks(vein_map: VeinMap) -> list[Landmark]:
    marks = (vein_map.landmarks.internal_ring, vein_map.landmarks.superior_ramus_edge)
    return [mark for mark in marks if mark is not None]
