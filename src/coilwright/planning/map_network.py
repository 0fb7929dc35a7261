"""From a vein map and an operator's marks to a vein network.

The trunk is cut at the mouths of the veins that join it. The ostium is the inflow, the trunk's
lower end the outflow; other free ends lead nowhere unless the operator says where. Nothing below
the upper edge of the superior pubic ramus may be closed.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise

from coilwright.errors import Problem
from coilwright.planning.map_points import MapPoints, free_end, map_points
from coilwright.planning.marks_fit import MarksDoNotFit, map_does_not_fit, require_marks_fit
from coilwright.planning.network_marks import Channel, NetworkMarks, NewPoint, Place
from coilwright.planning.piece_calibre import piece_calibre
from coilwright.planning.trunk_course import project_onto
from coilwright.veins import Landmark, OwnEnd, VeinMap, Vessel
from coilwright.veins.vein_network import (
    NetworkCatheter,
    NetworkPoint,
    NetworkVein,
    PointKind,
    VeinNetwork,
    veins_at,
)

# Below this a piece's calibre rests on so little of it that the answer says so.
_WELL_KNOWN_SHARE = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class MapNetwork:
    """The network, and what was taken for granted in making it.

    ``trunk_arcs_mm`` holds the two arcs of each piece of the trunk, by its id, from the first arc.
    """

    network: VeinNetwork
    assumptions: tuple[str, ...]
    trunk_arcs_mm: dict[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Levels:
    """The arcs on the trunk of the ostium and of the floor; None where not marked."""

    ostium_mm: float | None
    floor_mm: float | None


def map_network(vein_map: VeinMap, marks: NetworkMarks) -> MapNetwork:
    """The network of a map, with the operator's marks on it.

    Every piece costs 1: one place to close. Its calibre is that of the even tube that resists
    alike (``piece_calibre``); its length is projected, so a lower bound.

    Raises
    ------
    MarksDoNotFit
        A mark names what the map does not have, or the map lacks a trunk, a way in or a calibre.
    """
    trunk = vein_map.trunk
    if trunk is None:
        mend = "name it by an edit of the map"
        raise map_does_not_fit("vessels", "no trunk among them", mend)
    require_marks_fit(vein_map, marks)
    assumed: list[str] = []
    levels = _levels(vein_map, trunk, assumed)
    points = map_points(vein_map, _wanted(trunk, levels, marks))
    kinds = _kinds(vein_map, trunk, levels, points, marks, assumed)
    veins = [
        *_pieces(vein_map, trunk, levels, points, marks, assumed),
        *(_channel_vein(one, points, kinds, marks) for one in marks.channels),
    ]
    if PointKind.INFLOW not in kinds.values():
        mend = "mark the ostium on the map, or state where blood enters in the marks file"
        raise map_does_not_fit("landmarks.ostium", "not marked", mend)
    if PointKind.OUTFLOW not in kinds.values():
        mend = "give one of the far ends the kind outflow"
        raise MarksDoNotFit(Problem(field="far_end", found="no outflow is left", mend=mend))
    enters_at = points.nearest(marks.enters.vessel, marks.enters.at_mm)
    network = VeinNetwork(
        points=_network_points(points, kinds, veins),
        veins=tuple(veins),
        catheter=NetworkCatheter(enters_at=enters_at, outer_diameter_mm=marks.outer_diameter_mm),
    )
    return MapNetwork(
        network=network,
        assumptions=tuple(assumed),
        trunk_arcs_mm=_trunk_arcs_mm(trunk, points, {vein.id for vein in veins}),
    )


def _levels(vein_map: VeinMap, trunk: Vessel, assumed: list[str]) -> _Levels:
    def arc_mm(mark: Landmark | None) -> float | None:
        if mark is None:
            return None
        scale = vein_map.calibration.mm_per_pixel
        return project_onto(trunk, mark.point_px, mm_per_pixel=scale).arc_mm

    ostium_mm = arc_mm(vein_map.landmarks.ostium)
    floor_mm = arc_mm(vein_map.landmarks.superior_ramus_edge)
    if ostium_mm is not None and ostium_mm < trunk.arc_mm[0] - 1.0:
        assumed.append(
            f"The trunk is first seen {trunk.arc_mm[0] - ostium_mm:.0f} mm below the ostium; blood "
            "was taken to enter where it is first seen, with nothing joining it above."
        )
    if floor_mm is None:
        assumed.append(
            "The upper edge of the superior pubic ramus is not marked: no vein was kept from "
            "closure for lying below it."
        )
    return _Levels(ostium_mm=ostium_mm, floor_mm=floor_mm)


def _wanted(trunk: Vessel, levels: _Levels, marks: NetworkMarks) -> list[tuple[str, float]]:
    """The places, besides mouths and ends, at which a vessel is cut."""
    wanted = [(trunk.id, at) for at in (levels.ostium_mm, levels.floor_mm) if at is not None]
    wanted.append((marks.enters.vessel, marks.enters.at_mm))
    for one in marks.protected:
        wanted += [(one.vessel, at) for at in (one.from_mm, one.to_mm) if at is not None]
    for channel in marks.channels:
        for end in (channel.from_place, channel.to_place):
            if isinstance(end, Place):
                wanted.append((end.vessel, end.at_mm))
    return wanted


def _kinds(
    vein_map: VeinMap,
    trunk: Vessel,
    levels: _Levels,
    points: MapPoints,
    marks: NetworkMarks,
    assumed: list[str],
) -> dict[str, PointKind]:
    """What is said of points: by the trunk's own ends, then by the operator, who outweighs it."""
    kinds: dict[str, PointKind] = {}
    if levels.ostium_mm is not None:
        kinds[points.nearest(trunk.id, levels.ostium_mm)] = PointKind.INFLOW
    lower = free_end(points, trunk, OwnEnd.END)
    if lower is not None:
        kinds.setdefault(lower, PointKind.OUTFLOW)
    said = set()
    for n, mark in enumerate(marks.far_ends, 1):
        point = free_end(points, vein_map.vessel(mark.vessel), mark.own_end)
        if point is None:
            mend = "mark the other end, or leave it out"
            raise MarksDoNotFit(
                Problem(field=f"far_end {n}, own_end", found="joins another vessel", mend=mend)
            )
        kinds[point] = mark.kind
        said.add(point)
    for vessel in vein_map.vessels:
        ends = {free_end(points, vessel, end) for end in OwnEnd} - {None}
        if vessel.leaves_frame and not ends & (said | set(kinds)):
            assumed.append(
                f"{vessel.id} leaves the picture and nobody has said where it leads: it was taken "
                "to lead nowhere."
            )
    return kinds


def _pieces(
    vein_map: VeinMap,
    trunk: Vessel,
    levels: _Levels,
    points: MapPoints,
    marks: NetworkMarks,
    assumed: list[str],
) -> Iterable[NetworkVein]:
    """Every vessel of the map piece by piece, from its first arc."""
    taken = {channel.new_id for channel in marks.channels}
    for vessel in vein_map.vessels:
        cuts = points.arcs_mm[vessel.id]
        for number, (from_mm, to_mm) in enumerate(pairwise(cuts), start=1):
            piece_id = _piece_id(vessel, cuts, number)
            ends = (points.point_at[vessel.id, from_mm], points.point_at[vessel.id, to_mm])
            if piece_id in taken:
                mend = "choose an id that no vessel or piece of the map has"
                raise MarksDoNotFit(Problem(field="channel, new_id", found="taken", mend=mend))
            if ends[0] == ends[1]:
                assumed.append(f"{piece_id} begins and ends at one place and was left out.")
                continue
            low = _may_not_close(vessel, trunk, levels, from_mm, to_mm, marks)
            calibre = _calibre(vessel, from_mm, to_mm, piece_id, marks, assumed)
            yield NetworkVein(
                id=piece_id,
                from_point=ends[0],
                to_point=ends[1],
                length_mm=to_mm - from_mm,
                diameter_mm=calibre[0],
                diameter_sd_mm=calibre[1],
                relaxed_diameter_mm=calibre[2],
                may_occlude=not low,
            )


def _piece_id(vessel: Vessel, cuts: tuple[float, ...], number: int) -> str:
    return vessel.id if len(cuts) == 2 else f"{vessel.id}:{number}"


def _trunk_arcs_mm(
    trunk: Vessel, points: MapPoints, kept: set[str]
) -> dict[str, tuple[float, float]]:
    cuts = points.arcs_mm[trunk.id]
    arcs_mm = {_piece_id(trunk, cuts, n): pair for n, pair in enumerate(pairwise(cuts), start=1)}
    return {piece: pair for piece, pair in arcs_mm.items() if piece in kept}


def _may_not_close(
    vessel: Vessel,
    trunk: Vessel,
    levels: _Levels,
    from_mm: float,
    to_mm: float,
    marks: NetworkMarks,
) -> bool:
    """Protected, or below the floor: by its own arc, or by a mouth on the trunk below it."""
    middle_mm = (from_mm + to_mm) / 2.0
    for one in marks.protected:
        first = vessel.arc_mm[0] if one.from_mm is None else one.from_mm
        last = vessel.arc_mm[-1] if one.to_mm is None else one.to_mm
        if one.vessel == vessel.id and first <= middle_mm <= last:
            return True
    if levels.floor_mm is None:
        return False
    if vessel.id == trunk.id:
        return middle_mm > levels.floor_mm
    return any(j.vessel == trunk.id and j.at_mm > levels.floor_mm for j in vessel.joins)


def _calibre(
    vessel: Vessel,
    from_mm: float,
    to_mm: float,
    piece_id: str,
    marks: NetworkMarks,
    assumed: list[str],
) -> tuple[float, float, float | None]:
    """Diameter, standard deviation and relaxed diameter: stated by hand, or else measured."""
    stated = [one for one in marks.calibres if one.vessel == vessel.id]
    if stated:
        one = stated[-1]
        return one.diameter_mm, one.diameter_sd_mm, one.relaxed_diameter_mm
    found = piece_calibre(vessel, from_mm, to_mm)
    if found is None:
        mend = "state one under [[calibre]] in the marks file"
        raise map_does_not_fit(f"vessels, {vessel.id}", f"no calibre near {from_mm:.0f} mm", mend)
    if found.known_share < _WELL_KNOWN_SHARE:
        assumed.append(
            f"{piece_id}: a calibre is known along {100 * found.known_share:.0f} % of it, and was "
            "taken for all of it."
        )
    if found.spasm_unknown:
        assumed.append(
            f"{piece_id} is narrowed and its relaxed calibre is unknown: what passes was judged "
            "by the narrowed vein."
        )
    return found.diameter_mm, found.diameter_sd_mm, found.relaxed_diameter_mm


def _channel_vein(
    channel: Channel, points: MapPoints, kinds: dict[str, PointKind], marks: NetworkMarks
) -> NetworkVein:
    """A channel of the operator's; its new points are added to ``kinds``."""
    number = marks.channels.index(channel) + 1
    ends = []
    for key, end in (("from", channel.from_place), ("to", channel.to_place)):
        if isinstance(end, NewPoint):
            on_map = end.name in points.point_at.values()
            if on_map or kinds.setdefault(end.name, end.kind) is not end.kind:
                found = "the name of a point of the map" if on_map else "of two kinds"
                mend = "choose another name or say the same kind each time"
                field = f"channel {number}, {key}, point"
                raise MarksDoNotFit(Problem(field=field, found=found, mend=mend))
        ends.append(
            end.name if isinstance(end, NewPoint) else points.nearest(end.vessel, end.at_mm)
        )
    if ends[0] == ends[1]:
        mend = "let it end elsewhere"
        field = f"channel {number}, to"
        raise MarksDoNotFit(Problem(field=field, found="where it begins", mend=mend))
    if [one.new_id for one in marks.channels].index(channel.new_id) + 1 != number:
        mend = "give it an id of its own"
        field = f"channel {number}, new_id"
        raise MarksDoNotFit(Problem(field=field, found="taken", mend=mend))
    return NetworkVein(
        id=channel.new_id,
        from_point=ends[0],
        to_point=ends[1],
        length_mm=channel.length_mm,
        diameter_mm=channel.diameter_mm,
        diameter_sd_mm=channel.diameter_sd_mm,
        relaxed_diameter_mm=channel.relaxed_diameter_mm,
        may_occlude=channel.may_occlude,
        cost=channel.cost,
    )


def _network_points(
    points: MapPoints, kinds: dict[str, PointKind], veins: list[NetworkVein]
) -> tuple[NetworkPoint, ...]:
    """Every point in the order of the map, then the operator's; unsaid ones by what meets there."""
    meeting = veins_at(veins)
    names = dict.fromkeys((*points.point_at.values(), *kinds))

    def kind(name: str) -> PointKind:
        plain = PointKind.JUNCTION if len(meeting.get(name, ())) > 1 else PointKind.END
        return kinds.get(name, plain)

    return tuple(NetworkPoint(id=name, kind=kind(name)) for name in names)
