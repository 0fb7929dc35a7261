"""What a person does to the vessels of a map: take off, join, split, draw, name the trunk."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import dist

from coilwright.errors import Problem
from coilwright.veins.calibration import Calibration
from coilwright.veins.edits import AddVessel, DropVessel, JoinVessels, NameTrunk, SplitVessel
from coilwright.veins.vein_map import VeinMap
from coilwright.veins.vessel_parts import cut, empty_vessel, put_together, turned
from coilwright.veins.vessels import DiameterMethod, Join, OwnEnd, Vessel, VesselKind

TRUNK_ID, FORMER_TRUNK_ID = "trunk", "former-trunk"
# A cut closer to an end than this leaves no vessel; a join nearer is a join of the end itself.
LEAST_PART_MM = 1.0
AT_AN_END_MM = 3.0

# A drawn vessel with its calibre measured along its path; the vessel itself where that fails.
Measure = Callable[[Vessel, Calibration], Vessel]


Done = tuple[VeinMap, str, tuple[str, ...]]
"""The changed map, what was done in words, and the vessels that it was done to."""


class Misfit(Exception):
    """An edit does not fit the map; the caller knows which one and says so."""

    def __init__(self, field: str, found: str, mend: str) -> None:
        self.problem = Problem(field=field, found=found, mend=mend)
        super().__init__(self.problem)


def _vessel(vein_map: VeinMap, vessel_id: str, field: str) -> Vessel:
    try:
        return vein_map.vessel(vessel_id)
    except KeyError:
        known = ", ".join(vessel.id for vessel in vein_map.vessels) or "none"
        raise Misfit(
            field, f"no vessel '{vessel_id}' on the map here", f"name one of: {known}"
        ) from None


def _require_new(vein_map: VeinMap, vessel_id: str) -> None:
    if any(vessel.id == vessel_id for vessel in vein_map.vessels):
        raise Misfit("new_id", f"'{vessel_id}' is on the map already", "give another id")


def _with_vessels(vein_map: VeinMap, vessels: list[Vessel], renamed: dict[str, str]) -> VeinMap:
    """The map with these vessels; the catheter's vessel follows a new name, or is unknown."""
    ids = {vessel.id for vessel in vessels}
    held = vein_map.catheter.in_vessel
    held = renamed.get(held, held) if held is not None else None
    catheter = replace(vein_map.catheter, in_vessel=held if held in ids else None)
    trunk_first = sorted(vessels, key=lambda vessel: vessel.kind is not VesselKind.TRUNK)
    return replace(vein_map, vessels=tuple(trunk_first), catheter=catheter)


def _rejoined(vessel: Vessel, moved: Callable[[Join], Join | None]) -> Vessel:
    joins = tuple(join for join in map(moved, vessel.joins) if join is not None)
    return replace(vessel, joins=joins)


def drop_vessel(vein_map: VeinMap, edit: DropVessel) -> Done:
    """The map without a vessel; what joined it joins nothing there."""
    gone = _vessel(vein_map, edit.vessel, "vessel")
    left = [
        _rejoined(vessel, lambda join: None if join.vessel == gone.id else join)
        for vessel in vein_map.vessels
        if vessel.id != gone.id
    ]
    said = f"took {gone.id} ({gone.length_mm:.0f} mm long, projected) off the map"
    return _with_vessels(vein_map, left, {}), said, (gone.id,)


def join_vessels(vein_map: VeinMap, edit: JoinVessels) -> Done:
    """The map with two vessels as one, met at their nearest ends."""
    one, other = (_vessel(vein_map, edit.vessel, "vessel"), _vessel(vein_map, edit.to, "to"))
    if one.id == other.id:
        raise Misfit("to", "a vessel cannot be joined to itself", "name another vessel")
    first, second, turn_other = _end_to_end(one, other)
    method = _common_method(one, other)
    joined = put_together(first, second, vein_map.calibration.mm_per_pixel)
    gap_mm = joined.length_mm - first.length_mm - second.length_mm
    behind = first.id == one.id
    moves = {
        one.id: 0.0 if behind else joined.arc_mm[-1] - second.arc_mm[-1],
        other.id: joined.arc_mm[-1] - second.arc_mm[-1] if behind else 0.0,
    }
    turn_mm = other.arc_mm[0] + other.arc_mm[-1]
    pair = {one.id, other.id}

    def moved(join: Join) -> Join:
        if join.vessel not in pair:
            return join
        at_mm = join.at_mm
        if join.vessel == other.id and turn_other:
            at_mm = turn_mm - at_mm
        return replace(join, vessel=one.id, at_mm=at_mm + moves[join.vessel])

    trunk = VesselKind.TRUNK in (one.kind, other.kind)
    joined = replace(
        joined,
        id=one.id,
        kind=VesselKind.TRUNK if trunk else one.kind,
        joins=_outer_joins(first, second, pair),
        diameter_method=method,
        leaves_frame=one.leaves_frame or other.leaves_frame,
    )
    left = [_rejoined(v, moved) for v in vein_map.vessels if v.id not in pair]
    said = f"joined {other.id} to {one.id} end to end, {gap_mm:.1f} mm between them not measured"
    return _with_vessels(vein_map, [*left, joined], {other.id: one.id}), said, (one.id, other.id)


def _outer_joins(first: Vessel, second: Vessel, pair: set[str]) -> tuple[Join, ...]:
    """Joins of the two free ends with the rest of the map."""
    return tuple(
        join
        for part, end in ((first, OwnEnd.START), (second, OwnEnd.END))
        for join in part.joins
        if join.own_end is end and join.vessel not in pair
    )


def _end_to_end(one: Vessel, other: Vessel) -> tuple[Vessel, Vessel, bool]:
    """The two in order by their nearest ends, and whether ``other`` had to be turned."""
    ends = [(0, OwnEnd.START), (-1, OwnEnd.END)]
    _, mine, theirs = min(
        (dist(one.points_px[i], other.points_px[j]), own.value, met.value)
        for i, own in ends
        for j, met in ends
    )
    turn = mine == theirs
    other = turned(other) if turn else other
    return (one, other, turn) if mine == OwnEnd.END.value else (other, one, turn)


def _common_method(one: Vessel, other: Vessel) -> DiameterMethod:
    """How the calibre of both was measured, the less sure way where they differ."""
    methods = {
        vessel.diameter_method
        for vessel in (one, other)
        if any(width is not None for width in vessel.diameter_mm)
    } or {one.diameter_method}
    if DiameterMethod.GIVEN in methods and len(methods) > 1:
        raise Misfit(
            "to",
            "one calibre was stated and the other measured",
            "leave diameter_mm out of the added vessel, so that it is measured or unknown",
        )
    return DiameterMethod.EDGE_WIDTH if DiameterMethod.EDGE_WIDTH in methods else methods.pop()


def split_vessel(vein_map: VeinMap, edit: SplitVessel) -> Done:
    """The map with a vessel in two; the far part joins the near one."""
    whole = _vessel(vein_map, edit.vessel, "vessel")
    _require_new(vein_map, edit.new_id)
    low_mm, high_mm = whole.arc_mm[0] + LEAST_PART_MM, whole.arc_mm[-1] - LEAST_PART_MM
    if not low_mm <= edit.at_mm <= high_mm:
        raise Misfit(
            "at_mm",
            f"{edit.at_mm:g} mm leaves no vessel on one side",
            f"give {low_mm:.1f} to {high_mm:.1f} mm along {whole.id}",
        )
    first, rest = cut(whole, edit.at_mm)
    kept = whole.kind in (VesselKind.TRUNK, VesselKind.TANGLE)
    first = replace(first, kind=whole.kind if kept else VesselKind.SIDE_VEIN)
    at_cut = Join(own_end=OwnEnd.START, vessel=whole.id, at_mm=edit.at_mm)
    rest = replace(
        rest,
        id=edit.new_id,
        kind=VesselKind.TANGLE if whole.kind is VesselKind.TANGLE else VesselKind.SIDE_VEIN,
        joins=(at_cut, *rest.joins),
    )

    def moved(join: Join) -> Join:
        if join.vessel != whole.id or join.at_mm <= edit.at_mm:
            return join
        return replace(join, vessel=edit.new_id, at_mm=join.at_mm - edit.at_mm)

    others = [_rejoined(v, moved) for v in vein_map.vessels if v.id != whole.id]
    said = f"split {whole.id} at {edit.at_mm:.1f} mm; what lies beyond is {edit.new_id}"
    split = _with_vessels(vein_map, [first, *others, rest], {})
    return _catheter_after_split(split, first, rest), said, (whole.id, edit.new_id)


def _catheter_after_split(vein_map: VeinMap, first: Vessel, rest: Vessel) -> VeinMap:
    tip, held = vein_map.catheter.tip_px, vein_map.catheter.in_vessel
    if tip is None or held != first.id:
        return vein_map
    parts = [(min(dist(tip, p) for p in v.points_px), v.id) for v in (first, rest)]
    return replace(vein_map, catheter=replace(vein_map.catheter, in_vessel=min(parts)[1]))


def add_vessel(vein_map: VeinMap, edit: AddVessel, measure: Measure) -> Done:
    """The map with a vessel drawn by hand."""
    _require_new(vein_map, edit.new_id)
    if edit.kind is VesselKind.TRUNK and vein_map.trunk is not None:
        raise Misfit("kind", "the map has a trunk", "add a side vein, then say it is the trunk")
    mm = vein_map.calibration.mm_per_pixel
    blank = Vessel(
        id=edit.new_id,
        kind=edit.kind,
        runs=(),
        joins=_joins_of_path(vein_map, edit),
        diameter_method=DiameterMethod.GIVEN,
        points_px=((0.0, 0.0),),
        arc_mm=(0.0,),
        diameter_mm=(None,),
        diameter_sd_mm=(None,),
        depth_relative_sd=(None,),
        opacity=(None,),
        arrival_s=(None,),
    )
    drawn = empty_vessel(blank, edit.points_px, mm)
    if edit.diameter_mm is None:
        drawn = measure(drawn, vein_map.calibration)
    else:
        count = len(drawn.arc_mm)
        drawn = replace(
            drawn,
            diameter_mm=(edit.diameter_mm,) * count,
            diameter_sd_mm=(edit.diameter_sd_mm,) * count,
        )
    known = any(width is not None for width in drawn.diameter_mm)
    how = "calibre not known"
    if known:
        stated = drawn.diameter_method is DiameterMethod.GIVEN
        how = "calibre as stated" if stated else "calibre measured along the drawn path"
    said = f"drew {drawn.id} by hand, {drawn.length_mm:.0f} mm long (projected), {how}"
    return _with_vessels(vein_map, [*vein_map.vessels, drawn], {}), said, (drawn.id,)


def _joins_of_path(vein_map: VeinMap, edit: AddVessel) -> tuple[Join, ...]:
    """The start, and of a duplicate the end too, on the nearest sample of the parent."""
    if edit.parent is None:
        return ()
    parent = _vessel(vein_map, edit.parent, "parent")
    ends = [(OwnEnd.START, edit.points_px[0])]
    if edit.kind is VesselKind.DUPLICATE:
        ends.append((OwnEnd.END, edit.points_px[-1]))
    return tuple(
        Join(own_end=end, vessel=parent.id, at_mm=_nearest_arc_mm(parent, point))
        for end, point in ends
    )


def _nearest_arc_mm(vessel: Vessel, point: tuple[float, float]) -> float:
    """The arc of the nearest place on the vessel, between samples too."""
    x, y = point
    best = (dist(point, vessel.points_px[0]), vessel.arc_mm[0])
    pairs = pairwise(zip(vessel.points_px, vessel.arc_mm, strict=True))
    for ((x0, y0), low_mm), ((x1, y1), high_mm) in pairs:
        squared = max((x1 - x0) ** 2 + (y1 - y0) ** 2, 1e-12)
        share = min(max(((x - x0) * (x1 - x0) + (y - y0) * (y1 - y0)) / squared, 0.0), 1.0)
        at = (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        best = min(best, (dist(point, at), low_mm + share * (high_mm - low_mm)))
    return best[1]


def name_trunk(vein_map: VeinMap, edit: NameTrunk) -> Done:
    """The map with this vessel as its trunk; the trunk of before is a side vein."""
    named = _vessel(vein_map, edit.vessel, "vessel")
    former = vein_map.trunk
    if former is not None and former.id != named.id:
        _require_no_shared_stem(named, former)
    turn = edit.cranial_end is OwnEnd.END
    new = turned(named) if turn else named
    if new.arc_mm[0] != 0.0:
        new = replace(new, arc_mm=tuple(arc - new.arc_mm[0] for arc in new.arc_mm))
    new = replace(new, id=TRUNK_ID, kind=VesselKind.TRUNK, joins=())
    renamed = {named.id: TRUNK_ID}
    if former is not None and former.id != named.id:
        renamed = {former.id: FORMER_TRUNK_ID} | renamed
    turn_mm = named.arc_mm[0] + named.arc_mm[-1]

    def moved(join: Join) -> Join:
        at_mm = turn_mm - join.at_mm if turn and join.vessel == named.id else join.at_mm
        return replace(join, vessel=renamed.get(join.vessel, join.vessel), at_mm=at_mm)

    vessels = []
    for vessel in vein_map.vessels:
        if vessel.id == named.id:
            continue
        changed = _rejoined(vessel, moved)
        if former is not None and vessel.id == former.id:
            changed = _as_former_trunk(changed, named, new)
        vessels.append(changed)
    said = f"{named.id} is the trunk, its {edit.cranial_end.value} towards the head"
    return _with_vessels(vein_map, [new, *vessels], renamed), said, (TRUNK_ID,)


def _require_no_shared_stem(named: Vessel, former: Vessel) -> None:
    """A side vein that leaves the trunk half way shares the trunk's upper part with it."""
    for join in named.joins:
        if join.vessel != former.id:
            continue
        to_end_mm = min(join.at_mm - former.arc_mm[0], former.arc_mm[-1] - join.at_mm)
        if to_end_mm > AT_AN_END_MM:
            raise Misfit(
                "vessel",
                f"{named.id} leaves {former.id} at {join.at_mm:.1f} mm, so they share its upper "
                "part",
                f"split {former.id} there and join its upper part to {named.id}",
            )


def _as_former_trunk(former: Vessel, named: Vessel, new: Vessel) -> Vessel:
    """The trunk of before as a side vein, joined where the new trunk joined it."""
    met = [join for join in named.joins if join.vessel == former.id]
    joins = list(former.joins)
    for join in met:
        at_start = join.at_mm - former.arc_mm[0] < former.arc_mm[-1] - join.at_mm
        own = OwnEnd.START if at_start else OwnEnd.END
        point = former.points_px[0 if at_start else -1]
        joins.append(Join(own_end=own, vessel=TRUNK_ID, at_mm=_nearest_arc_mm(new, point)))
    return replace(
        former, id=FORMER_TRUNK_ID, kind=VesselKind.SIDE_VEIN, joins=tuple(joins), narrowings=()
    )
