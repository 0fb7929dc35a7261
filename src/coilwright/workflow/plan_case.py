"""From a case file to a planned case: load, measure, assess, plan."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

from coilwright.advice import Advisory
from coilwright.assessment import assess
from coilwright.kit import Kit, load_kit
from coilwright.planning import OcclusionPlan, plan_occlusion
from coilwright.protocol import Protocol, load_protocol
from coilwright.record import Case, CaseRun, load_case
from coilwright.veins import Landmarks, VeinMap
from coilwright.venogram import (
    MeasuredRunFile,
    ScaleChoice,
    measure_run,
    picture_of_map,
    read_header,
    read_run,
    with_place,
)
from coilwright.workflow.case_gate import (
    further_runs,
    held_back,
    kit_not_named,
    plan_held_back,
    plan_without_run,
    sex_not_recorded,
    side_of_map,
)
from coilwright.workflow.picture_steps import with_steps
from coilwright.workflow.planned_case import PlannedCase
from coilwright.workflow.run_identity import patient_of_run


def plan_case(
    case_file: Path,
    *,
    today: date,
    overlay: Path | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> PlannedCase:
    """Load, measure, assess and plan one case.

    ``overlay`` is the site's own limits; ``progress`` is told each step in words. ``today`` stands
    in for the day of the procedure where the case names none.

    Raises
    ------
    InputError
        The case, its run, its kit or the overlay cannot be used.
    """
    progress("reading the case")
    case = load_case(case_file, today)
    protocol = load_protocol(overlay)
    kit = Kit() if case.kit_file is None else load_kit(case.kit_file)
    if not case.runs:
        return _without_run(case, protocol, today)
    run = case.runs[0]
    measured = _measure(run, progress)
    progress("assessing and planning")
    assessed = assess(case.facts(today), protocol)
    advisories = (
        *assessed,
        *side_of_map(case, measured.vein_map),
        *patient_of_run(case, run.file),
        *further_runs(case),
        *kit_not_named(case),
        *sex_not_recorded(case),
    )
    on = case.procedure.date or today
    plan = _plan(case, measured.vein_map, kit, protocol, advisories, on)
    return PlannedCase(
        case=case,
        vein_map=measured.vein_map,
        map_picture=with_steps(picture_of_map(measured), measured, plan),
        plan=plan,
        protocol=protocol,
        assessed=len(assessed),
    )


def _measure(run: CaseRun, progress: Callable[[str], None]) -> MeasuredRunFile:
    progress(f"reading {run.file.name}")
    stored = read_run(run.file)
    progress(f"measuring {run.file.name}")
    # A scale that the operator gives takes the place of the catheter's: the two exclude each other.
    french = run.catheter_fr if run.mm_per_pixel is None else None
    scale = ScaleChoice(catheter_fr=french, mm_per_pixel=run.mm_per_pixel)
    measured = measure_run(stored, scale, mask_frames=run.mask_frames, side=run.side)
    # The bones stay with the map, so that a completion run can be laid on it.
    measured = with_place(measured, read_header(run.file))
    return replace(measured, vein_map=as_stated(measured.vein_map, run))


def as_stated(vein_map: VeinMap, run: CaseRun) -> VeinMap:
    """The map with the run's conditions and the operator's marks, which overrule found ones."""
    found, marked = vein_map.landmarks, run.landmarks
    landmarks = Landmarks(
        ostium=marked.ostium or found.ostium,
        internal_ring=marked.internal_ring or found.internal_ring,
        superior_ramus_edge=marked.superior_ramus_edge or found.superior_ramus_edge,
    )
    first, *others = vein_map.runs
    stated = run.conditions
    if stated.tilt_deg is None:
        stated = replace(stated, tilt_deg=first.conditions.tilt_deg)
    runs = (replace(first, conditions=stated), *others)
    return replace(vein_map, landmarks=landmarks, runs=runs)


def _plan(
    case: Case,
    vein_map: VeinMap,
    kit: Kit,
    protocol: Protocol,
    advisories: tuple[Advisory, ...],
    on: date,
) -> OcclusionPlan:
    holds = held_back(case, advisories)
    if holds:
        return plan_held_back(vein_map, advisories, holds)
    return plan_occlusion(vein_map, kit, protocol, advisories=advisories, on=on)


def _without_run(case: Case, protocol: Protocol, today: date) -> PlannedCase:
    assessed = assess(case.facts(today), protocol)
    advisories = (*assessed, *kit_not_named(case), *sex_not_recorded(case))
    return PlannedCase(
        case=case,
        vein_map=None,
        map_picture=None,
        plan=plan_without_run(advisories),
        protocol=protocol,
        assessed=len(assessed),
    )
