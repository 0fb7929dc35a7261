"""From a case file to a planned case: load, measure, assess, plan."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from coilwright.advice import Advisory
from coilwright.assessment import assess
from coilwright.errors import FileProblem
from coilwright.kit import Kit
from coilwright.planning import NetworkMarks, OcclusionPlan, plan_occlusion, pull_list
from coilwright.planning.marks_fit import MarksDoNotFit
from coilwright.planning.network_marks_file import read_network_marks
from coilwright.protocol import Protocol, load_protocol
from coilwright.record import Case, load_case
from coilwright.veins import Side, VeinMap
from coilwright.venogram import picture_of_map
from coilwright.workflow.case_gate import (
    held_back,
    kit_not_named,
    plan_held_back,
    plan_without_run,
    runs_left_out,
    sex_not_recorded,
    side_of_map,
)
from coilwright.workflow.kit_on_shelf import kit_on_shelf
from coilwright.workflow.measure_case import measure_case
from coilwright.workflow.one_side import one_side
from coilwright.workflow.picture_steps import with_steps
from coilwright.workflow.planned_case import PlannedCase
from coilwright.workflow.run_identity import patient_of_runs
from coilwright.workflow.ways import with_ways


def plan_case(
    case_file: Path,
    *,
    today: date,
    overlay: Path | None = None,
    shelf: Path | None = None,
    side: Side | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> PlannedCase:
    """Load, measure, assess and plan one case; several runs are joined into one map.

    ``overlay`` is the site's own limits, ``shelf`` the record whose shelf counts in place of the
    kit's own figures, ``side`` the one to plan of a case of both; ``progress`` is told each step in
    words. ``today`` stands in for the day of the procedure where the case names none.

    Raises
    ------
    InputError
        The case, its first run, its kit, its marks, the overlay or the record cannot be used.
    """
    progress("reading the case")
    case = one_side(load_case(case_file, today), side, case_file)
    protocol = load_protocol(overlay)
    on = case.procedure.date or today
    kit = Kit() if case.kit_file is None else kit_on_shelf(case.kit_file, shelf, on)
    marks_file = case.network_marks_file
    marks = None if marks_file is None else read_network_marks(marks_file)
    if not case.runs:
        return _without_run(case, kit, protocol, today, side)
    of_case = measure_case(case.runs, progress)
    measured = of_case.measured
    progress("assessing and planning")
    assessed = assess(case.facts(today), protocol)
    advisories = (
        *assessed,
        *side_of_map(case, measured.vein_map),
        *patient_of_runs(case),
        *runs_left_out(case, of_case.left_out),
        *kit_not_named(case),
        *sex_not_recorded(case),
    )
    plan = _plan(case, measured.vein_map, kit, protocol, advisories, on, marks)
    plan = with_ways(plan, case, measured.vein_map, kit, protocol, on)
    return PlannedCase(
        case=case,
        vein_map=measured.vein_map,
        map_picture=with_steps(picture_of_map(measured), measured, plan),
        plan=plan,
        pull_list=pull_list(plan, kit, protocol, on=case.procedure.date, pulled_on=today),
        protocol=protocol,
        assessed=len(assessed),
        side=side,
    )


def _plan(
    case: Case,
    vein_map: VeinMap,
    kit: Kit,
    protocol: Protocol,
    advisories: tuple[Advisory, ...],
    on: date,
    marks: NetworkMarks | None,
) -> OcclusionPlan:
    holds = held_back(case, advisories)
    if holds:
        return plan_held_back(vein_map, advisories, holds)
    try:
        return plan_occlusion(vein_map, kit, protocol, advisories=advisories, on=on, marks=marks)
    except MarksDoNotFit as error:
        if case.network_marks_file is None:
            raise
        raise FileProblem(case.network_marks_file, error.problem) from error


def _without_run(
    case: Case, kit: Kit, protocol: Protocol, today: date, side: Side | None
) -> PlannedCase:
    assessed = assess(case.facts(today), protocol)
    plan = plan_without_run((*assessed, *kit_not_named(case), *sex_not_recorded(case)))
    return PlannedCase(
        case=case,
        vein_map=None,
        map_picture=None,
        plan=plan,
        pull_list=pull_list(plan, kit, protocol, on=case.procedure.date, pulled_on=today),
        protocol=protocol,
        assessed=len(assessed),
        side=side,
    )
