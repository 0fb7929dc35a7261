"""Edits replayed on a map. Pure: what needs the run's pixels is handed in as a function."""

from collections.abc import Callable
from dataclasses import asdict, replace
from math import dist

from coilwright.errors import InputError, Problem
from coilwright.veins.calibration import Calibration, CalibrationMethod
from coilwright.veins.edits import (
    AddVessel,
    AppliedEdit,
    DropVessel,
    Edit,
    EditValue,
    JoinVessels,
    MapEdits,
    MarkLevel,
    NameTrunk,
    SetScale,
    SplitVessel,
    StateConditions,
)
from coilwright.veins.landmarks import Landmark
from coilwright.veins.notice import Notice
from coilwright.veins.vein_map import VeinMap
from coilwright.veins.vessel_parts import (
    cut,
    empty_vessel,
    joins_scaled,
    put_together,
    rescaled,
    turned,
)
from coilwright.veins.vessels import DiameterMethod, Join, OwnEnd, Vessel, VesselKind

TRUNK_ID, FORMER_TRUNK_ID = "trunk", "former-trunk"
# A cut closer to an end than this leaves no vessel; a join nearer is a join of the end itself.
LEAST_PART_MM = 1.0
AT_AN_END_MM = 3.0

# A drawn vessel with its calibre measured along its path; the vessel itself where that fails.
Measure = Callable[[Vessel, Calibration], Vessel]


class EditProblem(InputError):
    """An edit does not fit the map; ``number`` counts from 1 as the file's tables do."""

    def __init__(self, number: int, problem: Problem) -> None:
        self.number, self.problem = number, problem
        super().__init__(number, problem)

    def __str__(self) -> str:
        return f"edit {self.number}: {self.problem}."


class _Misfit(Exception):
    def __init__(self, field: str, found: str, mend: str) -> None:
        self.problem = Problem(field=field, found=found, mend=mend)
        super().__init__(self.problem)


def with_edits(
    vein_map: VeinMap, edits: MapEdits, measure: Measure = lambda vessel, _: vessel
) -> VeinMap:
    """The map with the edits replayed, and the record of each kept with it.

    Raises
    ------
    EditProblem
        An edit names what is not on the map, or cannot be done there.
    """
    _require_same_run(vein_map, edits)
    for number, edit in enumerate(edits.edits, start=1):
        try:
            changed, said, vessels = _apply(vein_map, edit, measure)
        except _Misfit as misfit:
            raise EditProblem(number, misfit.problem) from misfit
        record = AppliedEdit(
            what=_WORDS[type(edit)],
            said=said,
            vessels=vessels,
            values=_values(edit),
            by=edit.signed.by,
            at=edit.signed.at,
            why=edit.signed.why,
        )
        vein_map = replace(changed, edits=(*vein_map.edits, record))
    return vein_map


_WORDS: dict[type, str] = {
    DropVessel: "drop",
    JoinVessels: "join",
    SplitVessel: "split",
    AddVessel: "add",
    NameTrunk: "trunk",
    MarkLevel: "mark",
    SetScale: "scale",
    StateConditions: "conditions",
}
_Done = tuple[VeinMap, str, tuple[str, ...]]


def _apply(vein_map: VeinMap, edit: Edit, measure: Measure) -> _Done:
    match edit:
        case DropVessel():
            return _drop(vein_map, edit)
        case JoinVessels():
            return _join(vein_map, edit)
        case SplitVessel():
            return _split(vein_map, edit)
        case AddVessel():
            return _add(vein_map, edit, measure)
        case NameTrunk():
            return _name_trunk(vein_map, edit)
        case MarkLevel():
            return _mark(vein_map, edit)
        case SetScale():
            return _scale(vein_map, edit)
        case StateConditions():
            return _conditions(vein_map, edit)


def _values(edit: Edit) -> dict[str, EditValue]:
    values: dict[str, EditValue] = {}
    for key, value in asdict(edit).items():
        if key == "conditions":
            values |= value
        elif key != "signed":
            values[key] = value
    return values


def _require_same_run(vein_map: VeinMap, edits: MapEdits) -> None:
    stated = edits.sop_instance_uid
    if stated is not None and stated not in {run.sop_instance_uid for run in vein_map.runs}:
        problem = Problem(
            field="sop_instance_uid",
            found="the edits were made on another run than this map's",
            mend="give the edits of this run",
        )
        raise EditProblem(0, problem)


def _vessel(vein_map: VeinMap, vessel_id: str, field: str) -> Vessel:
    try:
        return vein_map.vessel(vessel_id)
    except KeyError:
        known = ", ".join(vessel.id for vessel in vein_map.vessels) or "none"
        raise _Misfit(
            field, f"no vessel '{vessel_id}' on the map here", f"name one of: {known}"
        ) from None


def _require_new(vein_map: VeinMap, vessel_id: str) -> None:
    if any(vessel.id == vessel_id for vessel in vein_map.vessels):
        raise _Misfit("new_id", f"'{vessel_id}' is on the map already", "give another id")


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


def _drop(vein_map: VeinMap, edit: DropVessel) -> _Done:
    gone = _vessel(vein_map, edit.vessel, "vessel")
    left = [
        _rejoined(vessel, lambda join: None if join.vessel == gone.id else join)
        for vessel in vein_map.vessels
        if vessel.id != gone.id
    ]
    said = f"took {gone.id} ({gone.length_mm:.0f} mm long, projected) off the map"
    return _with_vessels(vein_map, left, {}), said, (gone.id,)


def _join(vein_map: VeinMap, edit: JoinVessels) -> _Done:
    one, other = (_vessel(vein_map, edit.vessel, "vessel"), _vessel(vein_map, edit.to, "to"))
    if one.id == other.id:
        raise _Misfit("to", "a vessel cannot be joined to itself", "name another vessel")
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

    outer = tuple(
        join
        for part, end in ((first, OwnEnd.START), (second, OwnEnd.END))
        for join in part.joins
        if join.own_end is end and join.vessel not in pair
    )
    trunk = VesselKind.TRUNK in (one.kind, other.kind)
    joined = replace(
        joined,
        id=one.id,
        kind=VesselKind.TRUNK if trunk else one.kind,
        joins=outer,
        diameter_method=method,
        leaves_frame=one.leaves_frame or other.leaves_frame,
    )
    left = [_rejoined(v, moved) for v in vein_map.vessels if v.id not in pair]
    said = f"joined {other.id} to {one.id} end to end, {gap_mm:.1f} mm between them not measured"
    return _with_vessels(vein_map, [*left, joined], {other.id: one.id}), said, (one.id, other.id)


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
        raise _Misfit(
            "to",
            "one calibre was stated and the other measured",
            "leave diameter_mm out of the added vessel, so that it is measured or unknown",
        )
    return DiameterMethod.EDGE_WIDTH if DiameterMethod.EDGE_WIDTH in methods else methods.pop()


def _split(vein_map: VeinMap, edit: SplitVessel) -> _Done:
    whole = _vessel(vein_map, edit.vessel, "vessel")
    _require_new(vein_map, edit.new_id)
    low_mm, high_mm = whole.arc_mm[0] + LEAST_PART_MM, whole.arc_mm[-1] - LEAST_PART_MM
    if not low_mm <= edit.at_mm <= high_mm:
        raise _Misfit(
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


def _add(vein_map: VeinMap, edit: AddVessel, measure: Measure) -> _Done:
    _require_new(vein_map, edit.new_id)
    if edit.kind is VesselKind.TRUNK and vein_map.trunk is not None:
        raise _Misfit("kind", "the map has a trunk", "add a side vein, then say it is the trunk")
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
    return min(
        (dist(point, at), arc) for at, arc in zip(vessel.points_px, vessel.arc_mm, strict=True)
    )[1]


def _name_trunk(vein_map: VeinMap, edit: NameTrunk) -> _Done:
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
            raise _Misfit(
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


def _mark(vein_map: VeinMap, edit: MarkLevel) -> _Done:
    mark = Landmark(
        point_px=edit.point_px,
        sd_mm=edit.sd_mm,
        how=f"marked by {edit.signed.by}: {edit.signed.why}",
    )
    words = edit.landmark.replace("_", " ")
    landmarks = replace(vein_map.landmarks, **{edit.landmark: mark})
    x, y = edit.point_px
    said = f"marked the {words} at ({x:.0f}, {y:.0f})"
    return replace(vein_map, landmarks=landmarks), said, ()


def _scale(vein_map: VeinMap, edit: SetScale) -> _Done:
    before = vein_map.calibration
    change = edit.mm_per_pixel / before.mm_per_pixel - 1.0
    said = (
        f"set the scale to {edit.mm_per_pixel:.4f} mm per pixel; before it was "
        f"{before.mm_per_pixel:.4f} ({before.method.value}), a change of {change:+.1%}"
    )
    notice = Notice(
        code="scale-by-a-person", text=f"{edit.signed.by} {said}: {edit.signed.why}"
    )
    after = Calibration(
        mm_per_pixel=edit.mm_per_pixel,
        relative_sd=edit.relative_sd,
        method=CalibrationMethod.GIVEN,
        warnings=(notice,),
    )
    factor = 1.0 + change
    vessels = tuple(
        replace(rescaled(vessel, before, after), joins=joins_scaled(vessel.joins, factor))
        for vessel in vein_map.vessels
    )
    moved = vein_map.quality.motion_corrected_mm
    quality = replace(
        vein_map.quality, motion_corrected_mm=None if moved is None else moved * factor
    )
    rescaled_map = replace(vein_map, calibration=after, vessels=vessels, quality=quality)
    return rescaled_map, said, tuple(vessel.id for vessel in vessels)


def _conditions(vein_map: VeinMap, edit: StateConditions) -> _Done:
    if not 0 <= edit.run < len(vein_map.runs):
        raise _Misfit(
            "run",
            f"run {edit.run} is not on the map",
            f"give 0 to {len(vein_map.runs) - 1}, counted from the first run",
        )
    runs = list(vein_map.runs)
    runs[edit.run] = replace(runs[edit.run], conditions=edit.conditions)
    return replace(vein_map, runs=tuple(runs)), f"stated how run {edit.run} was injected", ()
