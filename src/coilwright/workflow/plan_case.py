"""From a case file to a planned case: load, measure, assess, plan."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

from coilwright.advice import Advisory
from coilwright.assessment import assess
from coilwright.kit import Kit, load_kit
from coilwright.planning import OcclusionPlan, plan_occlusion
from coilwright.protocol import Protocol, load_protocol
from coilwright.record import Case, load_case
from coilwright.veins import VeinMap
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
from coilwright.workflow.measure_case import measure_case
from coilwright.workflow.picture_steps import with_steps
from coilwright.workflow.planned_case import PlannedCase
from coilwright.workflow.run_identity import patient_of_runs


def plan_case(
    case_file: Path,
    *,
    today: date,
    overlay: Path | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> PlannedCase:
    """Load, measure, assess and plan one case; several runs are joined into one map.

    ``overlay`` is the site's own limits; ``progress`` is told each step in words. ``today`` stands
    in for the day of the procedure where the case names none.

    Raises
    ------
    InputError
        The case, its first run, its kit or the overlay cannot be used.
    """
    progress("reading the case")
    case = load_case(case_file, today)
    protocol = load_protocol(overlay)
    kit = Kit() if case.kit_file is None else load_kit(case.kit_file)
    if not case.runs:
        return _without_run(case, protocol, today)
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
