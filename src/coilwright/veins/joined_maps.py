"""Two maps of the same veins made one: matched vessels combined, the others added."""

from dataclasses import dataclass, replace

from coilwright.errors import InputError
from coilwright.veins.calibre_of_two import both_calibres
from coilwright.veins.conditions_agree import same_strain
from coilwright.veins.landmarks import Catheter, Landmark, Landmarks
from coilwright.veins.notice import Notice
from coilwright.veins.rejoining_veins import with_rejoining
from coilwright.veins.runs import Affine
from coilwright.veins.vein_map import VeinMap
from coilwright.veins.vessel_match import Match, carried, find_match, nearest_arc
from coilwright.veins.vessel_parts import cut, put_together, turned
from coilwright.veins.vessels import Join, OwnEnd, Point, Vessel, VesselKind

# A vessel is carried on past an end of the map's where it had followed it up to here.
REACHES_END_MM = 4.0
# Said of a run that shows no ostium; another of the map's runs may show it.
OSTIUM_NOT_SHOWN = "ostium-not-shown"
SHORTEST_ADDED_MM = 1.5
SHORTEST_BRANCH_MM = 8.0


class NothingShared(InputError):
    """The runs show no vessel in common, so that nothing says how they hang together."""

    def __str__(self) -> str:
        return (
            "runs: no vessel is seen in both, so they cannot be joined into one map; give runs "
            "that overlap, or measure each alone."
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Joining:
    """The state of a join: vessels of the map by id, and the ids that the other run's got."""

    vessels: dict[str, Vessel]
    ids: dict[str, str]


def join_maps(vein_map: VeinMap, other: VeinMap, to_map_px: Affine) -> VeinMap:
    """The map with the vessels of another single-run map, whose grid ``to_map_px`` carries over.

    Vessels seen in both are combined; the others are added with new ids. Calibre is weighted by
    its standard deviation; where the two runs saw a segment in different states, the narrower is
    the measured calibre and the wider the relaxed one of a narrowing there.

    Raises
    ------
    NothingShared
        No vessel of the one is seen in the other.
    """
    index = len(vein_map.runs)
    mm = vein_map.calibration.mm_per_pixel
    incoming = [carried(vessel, to_map_px, mm, index) for vessel in other.vessels]
    strain = same_strain(vein_map.runs[0].conditions, other.runs[0].conditions)
    joining = _Joining(vessels={vessel.id: vessel for vessel in vein_map.vessels}, ids={})
    left: list[Vessel] = []
    branches: list[Vessel] = []
    for vessel in incoming:
        match = find_match(vessel, list(joining.vessels.values()), mm)
        if match is None or match.vessel in joining.ids.values():
            left.append(vessel)
            continue
        branches += _parting(match, joining.vessels[match.vessel])
        joining = _combined(joining, vessel, match, mm, strain.agree)
    if not joining.ids:
        raise NothingShared
    joining = _added(joining, left, mm)
    vessels, ids = with_rejoining(joining.vessels, joining.ids, incoming, mm)
    joining = _Joining(vessels=vessels, ids=ids)
    joining, parted = _with_branches(joining, branches, mm)
    run = replace(other.runs[0], to_map_px=to_map_px)
    landmarks = _landmarks(vein_map.landmarks, other.landmarks, to_map_px)
    told = _told(vein_map, other, strain.why, parted)
    if landmarks.ostium is not None:
        told = tuple(notice for notice in told if notice.code != OSTIUM_NOT_SHOWN)
    trunk_first = sorted(joining.vessels.values(), key=lambda v: v.kind is not VesselKind.TRUNK)
    return replace(
        vein_map,
        runs=(*vein_map.runs, run),
        vessels=tuple(trunk_first),
        landmarks=landmarks,
        catheter=_catheter(vein_map.catheter, other.catheter, to_map_px, joining.ids),
        quality=replace(vein_map.quality, warnings=told),
    )


def _told(
    vein_map: VeinMap, other: VeinMap, strain: str, parted: tuple[Notice, ...]
) -> tuple[Notice, ...]:
    """What is said of the joined map, and of the other run; people count runs from 1."""
    name = f"run {len(vein_map.runs) + 1}"
    joined = Notice(
        code="runs-joined", text=f"{name} joined to the map; calibre of both runs: {strain}"
    )
    of_run = (*other.calibration.warnings, *other.quality.warnings)
    named = (replace(notice, text=f"{name}: {notice.text}") for notice in of_run)
    return (*vein_map.quality.warnings, joined, *parted, *named)


def _combined(
    joining: _Joining, vessel: Vessel, match: Match, mm: float, agree: bool | None
) -> _Joining:
    """The map's vessel with the calibre of both, and with what only the other run shows of it."""
    mine = joining.vessels[match.vessel]
    merged = both_calibres(mine, match.other, match.nearest, agree=agree)
    before, after = _beyond(match, mine)
    merged = replace(merged, runs=tuple(sorted({*mine.runs, *match.other.runs})))
    shift_mm = 0.0
    if after is not None:
        merged = replace(put_together(merged, after, mm), joins=merged.joins)
    if before is not None:
        grown = put_together(before, merged, mm)
        shift_mm = grown.arc_mm[-1] - merged.arc_mm[-1]
        merged = replace(
            grown,
            id=mine.id,
            kind=mine.kind,
            joins=merged.joins,
            diameter_method=mine.diameter_method,
            leaves_frame=merged.leaves_frame,
        )
    vessels = {
        vessel_id: replace(
            one,
            joins=tuple(
                replace(join, at_mm=join.at_mm + shift_mm) if join.vessel == mine.id else join
                for join in one.joins
            ),
        )
        for vessel_id, one in joining.vessels.items()
    }
    vessels[mine.id] = merged
    return _Joining(vessels=vessels, ids=joining.ids | {vessel.id: mine.id})


def _beyond(match: Match, mine: Vessel) -> tuple[Vessel | None, Vessel | None]:
    """What the other run shows before the start and past the end of the map's vessel."""
    head, tail = _remainders(match)
    first, last = _common_arcs_mm(match)
    at_start = first - mine.arc_mm[0] < REACHES_END_MM and mine.kind is VesselKind.TRUNK
    at_end = mine.arc_mm[-1] - last < REACHES_END_MM
    return head if at_start else None, tail if at_end else None


def _parting(match: Match, mine: Vessel) -> list[Vessel]:
    """What the other run shows where it leaves the map's vessel before that ends, as branches."""
    before, after = _beyond(match, mine)
    head, tail = _remainders(match)
    first, last = _common_arcs_mm(match)
    branches = []
    if before is None and head is not None and mine.kind is VesselKind.TRUNK:
        branches.append(_branch(turned(head), mine, first))
    if after is None and tail is not None:
        branches.append(_branch(tail, mine, last))
    return [branch for branch in branches if branch.length_mm >= SHORTEST_BRANCH_MM]


def _branch(part: Vessel, mine: Vessel, at_mm: float) -> Vessel:
    join = Join(own_end=OwnEnd.START, vessel=mine.id, at_mm=at_mm)
    return replace(part, kind=VesselKind.SIDE_VEIN, joins=(join,), narrowings=())


def _remainders(match: Match) -> tuple[Vessel | None, Vessel | None]:
    other = match.other
    close = [at for at, place in enumerate(match.nearest) if place.close]
    first_mm, last_mm = other.arc_mm[close[0]], other.arc_mm[close[-1]]
    head = cut(other, first_mm)[0] if first_mm - other.arc_mm[0] > SHORTEST_ADDED_MM else None
    tail = cut(other, last_mm)[1] if other.arc_mm[-1] - last_mm > SHORTEST_ADDED_MM else None
    return head, tail


def _common_arcs_mm(match: Match) -> tuple[float, float]:
    """Arcs along the map's vessel between which the other run follows it."""
    close = [place for place in match.nearest if place.close]
    return close[0].arc_mm, close[-1].arc_mm


def _added(joining: _Joining, left: list[Vessel], mm: float) -> _Joining:
    """Vessels that the map does not have, with ids of their own and joins on the map."""
    vessels, ids = dict(joining.vessels), dict(joining.ids)
    for vessel in left:
        kind = VesselKind.SIDE_VEIN if vessel.kind is VesselKind.TRUNK else vessel.kind
        number = 1
        while f"{kind.value}-{number}" in vessels:
            number += 1
        ids[vessel.id] = f"{kind.value}-{number}"
        vessels[ids[vessel.id]] = replace(vessel, id=ids[vessel.id], kind=kind, narrowings=())
    for vessel in left:
        mine = vessels[ids[vessel.id]]
        joins = []
        for join in vessel.joins:
            end = mine.points_px[0 if join.own_end is OwnEnd.START else -1]
            parent = vessels[ids[join.vessel]]
            place = nearest_arc(parent, end, mm)
            joins.append(Join(own_end=join.own_end, vessel=parent.id, at_mm=place.arc_mm))
        vessels[mine.id] = replace(mine, joins=tuple(joins))
    return _Joining(vessels=vessels, ids=ids)


def _with_branches(
    joining: _Joining, branches: list[Vessel], mm: float
) -> tuple[_Joining, tuple[Notice, ...]]:
    """The parts in which a vessel of the other run left the map's, each told to a person."""
    vessels, notices = dict(joining.vessels), []
    for branch in branches:
        on = nearest_arc(vessels[branch.joins[0].vessel], branch.points_px[0], mm)
        parent = replace(branch.joins[0], at_mm=on.arc_mm)
        number = 1
        while f"{branch.kind.value}-{number}" in vessels:
            number += 1
        name = f"{branch.kind.value}-{number}"
        vessels[name] = replace(branch, id=name, joins=(parent,))
        text = (
            f"the runs part at {parent.at_mm:.0f} mm along {parent.vessel}: what the later one "
            f"shows from there is {name}; check which is the main vein"
        )
        notices.append(Notice(code="runs-part", text=text))
    return _Joining(vessels=vessels, ids=joining.ids), tuple(notices)


def _catheter(mine: Catheter, other: Catheter, to_map_px: Affine, ids: dict[str, str]) -> Catheter:
    """The first run's catheter; the other's where only that one lies in a vessel."""
    if mine.in_vessel is not None or other.in_vessel is None or other.tip_px is None:
        return mine
    return Catheter(tip_px=_moved(other.tip_px, to_map_px), in_vessel=ids.get(other.in_vessel))


def _moved(point: Point, to_map_px: Affine) -> Point:
    (a, b, c), (d, e, f) = to_map_px
    x, y = point
    return round(a * x + b * y + c, 2), round(d * x + e * y + f, 2)


def _landmarks(mine: Landmarks, other: Landmarks, to_map_px: Affine) -> Landmarks:
    def of(one: Landmark | None, two: Landmark | None) -> Landmark | None:
        if one is not None or two is None:
            return one
        return replace(two, point_px=_moved(two.point_px, to_map_px))

    return Landmarks(
        ostium=of(mine.ostium, other.ostium),
        internal_ring=of(mine.internal_ring, other.internal_ring),
        superior_ramus_edge=of(mine.superior_ramus_edge, other.superior_ramus_edge),
    )
