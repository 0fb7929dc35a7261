"""Side veins of one run that another shows to rejoin: parallel channels, which refill a vein."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from math import dist

from coilwright.veins.vessel_match import SAME_PLACE_MM, nearest_arc
from coilwright.veins.vessels import Join, OwnEnd, Vessel, VesselKind


def with_rejoining(
    vessels: Mapping[str, Vessel], ids: Mapping[str, str], incoming: Sequence[Vessel], mm: float
) -> tuple[dict[str, Vessel], dict[str, str]]:
    """The vessels with every side vein that now meets the map at both ends called a duplicate.

    ``incoming`` are the other run's vessels in the map's grid, ``ids`` what they are called there.
    """
    found, names = dict(vessels), dict(ids)
    for vessel in incoming:
        mine = found[names[vessel.id]]
        if VesselKind.TRUNK in (vessel.kind, mine.kind) or mine.kind is not VesselKind.SIDE_VEIN:
            continue
        joins = (*mine.joins, *_at_free_ends(vessel, mine, found, names, mm))
        if len(joins) < 2:
            continue
        name = _new_id(found)
        duplicate = replace(mine, id=name, kind=VesselKind.DUPLICATE, joins=joins)
        found = {
            key if key != mine.id else name: duplicate if key == mine.id else one
            for key, one in found.items()
        }
        found = {key: _pointing_to(one, mine.id, name) for key, one in found.items()}
        names = {key: name if value == mine.id else value for key, value in names.items()}
    return found, names


def _at_free_ends(
    vessel: Vessel, mine: Vessel, vessels: Mapping[str, Vessel], ids: Mapping[str, str], mm: float
) -> tuple[Join, ...]:
    """Joins of the other run's vessel that lie at an end of the map's which joins nothing yet."""
    taken = {join.own_end for join in mine.joins}
    joins = []
    for join in vessel.joins:
        place = vessel.points_px[0 if join.own_end is OwnEnd.START else -1]
        away = {
            OwnEnd.START: dist(place, mine.points_px[0]) * mm,
            OwnEnd.END: dist(place, mine.points_px[-1]) * mm,
        }
        own_end = min(away, key=lambda end: away[end])
        if own_end in taken or away[own_end] > SAME_PLACE_MM or ids[join.vessel] == mine.id:
            continue
        taken.add(own_end)
        parent = vessels[ids[join.vessel]]
        at_mm = nearest_arc(parent, place, mm).arc_mm
        joins.append(Join(own_end=own_end, vessel=parent.id, at_mm=at_mm))
    return tuple(joins)


def _new_id(vessels: Mapping[str, Vessel]) -> str:
    number = 1
    while f"{VesselKind.DUPLICATE.value}-{number}" in vessels:
        number += 1
    return f"{VesselKind.DUPLICATE.value}-{number}"


def _pointing_to(vessel: Vessel, before: str, after: str) -> Vessel:
    joins = tuple(
        replace(join, vessel=after) if join.vessel == before else join for join in vessel.joins
    )
    return replace(vessel, joins=joins)
