"""Which vessel of a map a vessel of another run is, and what lies where along it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import dist

from coilwright.veins.runs import Affine
from coilwright.veins.vessel_parts import turned
from coilwright.veins.vessels import Narrowing, Point, Vessel, VesselKind

# Breathing and parallax move a vein between runs: this far beside is still the same one.
SAME_PLACE_MM = 3.0
# The least length in common, and the least share of the shorter of the two (judgement).
LEAST_COMMON_MM = 8.0
LEAST_COMMON_SHARE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Nearest:
    """The nearest place on a vessel: its arc, how far off it is, and whether that is close."""

    arc_mm: float
    off_mm: float

    @property
    def close(self) -> bool:
        """Near enough to be the same vessel."""
        return self.off_mm <= SAME_PLACE_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """``other`` (turned the same way) is the map's ``vessel``; one nearest place per sample."""

    vessel: str
    other: Vessel
    nearest: tuple[Nearest, ...]


def carried(vessel: Vessel, to_map_px: Affine, mm_per_pixel: float, run: int) -> Vessel:
    """The vessel in the map's grid and scale of length; its calibre keeps its own run's scale."""
    (a, b, c), (d, e, f) = to_map_px
    points = tuple((a * x + b * y + c, d * x + e * y + f) for x, y in vessel.points_px)
    arc = [0.0]
    for one, two in pairwise(points):
        arc.append(arc[-1] + dist(one, two) * mm_per_pixel)
    ratio = arc[-1] / vessel.length_mm if vessel.length_mm > 0 else 1.0
    return replace(
        vessel,
        runs=(run,),
        points_px=points,
        arc_mm=tuple(arc),
        # Seconds from another run's first frame mean nothing on this map.
        arrival_s=(None,) * len(points),
        narrowings=tuple(_scaled(n, ratio, vessel.arc_mm[0]) for n in vessel.narrowings),
    )


def find_match(vessel: Vessel, candidates: Sequence[Vessel], mm_per_pixel: float) -> Match | None:
    """The map's vessel that this one follows farthest; a trunk is looked for as a trunk first."""
    best: tuple[bool, float, Match] | None = None
    for candidate in candidates:
        nearest = tuple(nearest_arc(candidate, point, mm_per_pixel) for point in vessel.points_px)
        close = [at for at, place in enumerate(nearest) if place.close]
        if len(close) < 2:
            continue
        common_mm = vessel.arc_mm[close[-1]] - vessel.arc_mm[close[0]]
        common_mm *= len(close) / (close[-1] - close[0] + 1)
        shorter_mm = min(vessel.length_mm, candidate.length_mm)
        if common_mm < min(LEAST_COMMON_MM, shorter_mm):
            continue
        both_trunks = VesselKind.TRUNK is vessel.kind is candidate.kind
        if not both_trunks and common_mm < LEAST_COMMON_SHARE * shorter_mm:
            continue
        match = _same_way(candidate, vessel, nearest, close)
        if best is None or (both_trunks, common_mm) > best[:2]:
            best = both_trunks, common_mm, match
    return None if best is None else best[2]


def nearest_arc(vessel: Vessel, point: Point, mm_per_pixel: float) -> Nearest:
    """The place on a vessel nearest to a point (x, y), between samples too."""
    index = min(range(len(vessel.points_px)), key=lambda i: dist(point, vessel.points_px[i]))
    best = (dist(point, vessel.points_px[index]), vessel.arc_mm[index])
    for low in (index - 1, index):
        if not 0 <= low < len(vessel.points_px) - 1:
            continue
        (x0, y0), (x1, y1) = vessel.points_px[low], vessel.points_px[low + 1]
        squared = max((x1 - x0) ** 2 + (y1 - y0) ** 2, 1e-12)
        along = ((point[0] - x0) * (x1 - x0) + (point[1] - y0) * (y1 - y0)) / squared
        share = min(max(along, 0.0), 1.0)
        at = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        arc = vessel.arc_mm[low] + share * (vessel.arc_mm[low + 1] - vessel.arc_mm[low])
        best = min(best, (dist(point, at), arc))
    return Nearest(arc_mm=best[1], off_mm=best[0] * mm_per_pixel)


def _same_way(
    candidate: Vessel, vessel: Vessel, nearest: tuple[Nearest, ...], close: list[int]
) -> Match:
    if nearest[close[0]].arc_mm <= nearest[close[-1]].arc_mm:
        return Match(vessel=candidate.id, other=vessel, nearest=nearest)
    return Match(vessel=candidate.id, other=turned(vessel), nearest=nearest[::-1])


def _scaled(narrowing: Narrowing, ratio: float, start_mm: float) -> Narrowing:
    return replace(
        narrowing,
        from_mm=(narrowing.from_mm - start_mm) * ratio,
        to_mm=(narrowing.to_mm - start_mm) * ratio,
    )
