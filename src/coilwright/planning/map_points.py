"""The points of a vein map's network: where vessels are cut, and which cuts are one point."""

from collections.abc import Iterable
from dataclasses import dataclass

from networkx.utils import UnionFind

from coilwright.veins import OwnEnd, VeinMap, Vessel, VesselKind

# Samples lie at most this far apart: nearer places cannot be told apart on the map.
SAME_PLACE_MM = 0.6
Cut = tuple[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class MapPoints:
    """Arcs at which each vessel is cut (both ends included), and the point at each cut."""

    arcs_mm: dict[str, tuple[float, ...]]
    point_at: dict[Cut, str]

    def nearest(self, vessel: str, at_mm: float) -> str:
        """The point of the cut that lies nearest to an arc."""
        arc = min(self.arcs_mm[vessel], key=lambda one: abs(one - at_mm))
        return self.point_at[vessel, arc]


def map_points(vein_map: VeinMap, wanted: Iterable[Cut]) -> MapPoints:
    """Cut every vessel at its ends, at the mouths of others and where ``wanted``.

    A point is named after the place: the trunk's where the trunk is there, ``trunk@40.0``.
    """
    places: dict[str, list[float]] = {v.id: [] for v in vein_map.vessels}
    joins = [(vessel, join) for vessel in vein_map.vessels for join in vessel.joins]
    for name, at_mm in (*wanted, *((join.vessel, join.at_mm) for _, join in joins)):
        places[name].append(at_mm)
    arcs_mm = {v.id: _cuts(v, places[v.id]) for v in vein_map.vessels}
    union: UnionFind[Cut] = UnionFind()
    for vessel, join in joins:
        own = arcs_mm[vessel.id][0 if join.own_end is OwnEnd.START else -1]
        there = min(arcs_mm[join.vessel], key=lambda one: abs(one - join.at_mm))
        union.union((vessel.id, own), (join.vessel, there))
    return MapPoints(arcs_mm=arcs_mm, point_at=_named(vein_map, arcs_mm, union))


def free_end(points: MapPoints, vessel: Vessel, own_end: OwnEnd) -> str | None:
    """The point at an end of a vessel, or None where that end joins another."""
    if any(join.own_end is own_end for join in vessel.joins):
        return None
    arc = points.arcs_mm[vessel.id][0 if own_end is OwnEnd.START else -1]
    return points.point_at[vessel.id, arc]


def _cuts(vessel: Vessel, places_mm: list[float]) -> tuple[float, ...]:
    """Both ends and the places between them, those too near to one before left out."""
    first, last = vessel.arc_mm[0], vessel.arc_mm[-1]
    cuts = [first]
    for place in sorted(places_mm):
        if place - cuts[-1] > SAME_PLACE_MM and last - place > SAME_PLACE_MM:
            cuts.append(place)
    return (*cuts, last) if last > first else (first,)


def _named(
    vein_map: VeinMap, arcs_mm: dict[str, tuple[float, ...]], union: "UnionFind[Cut]"
) -> dict[Cut, str]:
    trunk_first = sorted(vein_map.vessels, key=lambda v: v.kind is not VesselKind.TRUNK)
    names: dict[Cut, str] = {}
    found: dict[Cut, str] = {}
    for vessel in trunk_first:
        for arc in arcs_mm[vessel.id]:
            root = union[vessel.id, arc]
            found[vessel.id, arc] = names.setdefault(root, f"{vessel.id}@{arc:.1f}")
    return found
