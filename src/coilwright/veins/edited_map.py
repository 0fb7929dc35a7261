"""Edits replayed on a map. Pure: what needs the run's pixels is handed in as a function."""

from dataclasses import asdict, replace

from coilwright.errors import InputError, Problem
from coilwright.veins.calibration import Calibration, CalibrationMethod
from coilwright.veins.edited_vessels import (
    Done,
    Measure,
    Misfit,
    add_vessel,
    drop_vessel,
    join_vessels,
    name_trunk,
    split_vessel,
)
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
from coilwright.veins.vessel_parts import joins_scaled, rescaled


class EditProblem(InputError):
    """An edit does not fit the map; ``number`` counts from 1 as the file's tables do."""

    def __init__(self, number: int, problem: Problem) -> None:
        self.number, self.problem = number, problem
        super().__init__(number, problem)

    def __str__(self) -> str:
        return f"edit {self.number}: {self.problem}."


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
        except Misfit as misfit:
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


def _apply(vein_map: VeinMap, edit: Edit, measure: Measure) -> Done:
    match edit:
        case DropVessel():
            done = drop_vessel(vein_map, edit)
        case JoinVessels():
            done = join_vessels(vein_map, edit)
        case SplitVessel():
            done = split_vessel(vein_map, edit)
        case AddVessel():
            done = add_vessel(vein_map, edit, measure)
        case NameTrunk():
            done = name_trunk(vein_map, edit)
        case MarkLevel():
            done = _mark(vein_map, edit)
        case SetScale():
            done = _scale(vein_map, edit)
        case StateConditions():
            done = _conditions(vein_map, edit)
    return done


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


def _mark(vein_map: VeinMap, edit: MarkLevel) -> Done:
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


def _scale(vein_map: VeinMap, edit: SetScale) -> Done:
    before = vein_map.calibration
    change = edit.mm_per_pixel / before.mm_per_pixel - 1.0
    said = (
        f"set the scale to {edit.mm_per_pixel:.4f} mm per pixel; before it was "
        f"{before.mm_per_pixel:.4f} ({before.method.value}), a change of {change:+.1%}"
    )
    notice = Notice(code="scale-by-a-person", text=f"{edit.signed.by} {said}: {edit.signed.why}")
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


def _conditions(vein_map: VeinMap, edit: StateConditions) -> Done:
    if not 0 <= edit.run < len(vein_map.runs):
        raise Misfit(
            "run",
            f"run {edit.run} is not on the map",
            f"give 0 to {len(vein_map.runs) - 1}, counted from the first run",
        )
    runs = list(vein_map.runs)
    runs[edit.run] = replace(runs[edit.run], conditions=edit.conditions)
    return replace(vein_map, runs=tuple(runs)), f"stated how run {edit.run} was injected", ()
