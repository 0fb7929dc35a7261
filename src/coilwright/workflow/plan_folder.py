"""The folder of a plan: its files written, and read back for the case they belong to."""

from dataclasses import replace
from datetime import date
from pathlib import Path

from coilwright.advice import Advisory
from coilwright.assessment import assess
from coilwright.errors import FileProblem, Problem
from coilwright.planning import OcclusionPlan, pull_list_from_json, pull_list_to_json
from coilwright.record import Case, load_case
from coilwright.veins import VeinMap, vein_map_from_json, vein_map_to_json
from coilwright.workflow.case_gate import held_back, side_of_map
from coilwright.workflow.one_side import one_side
from coilwright.workflow.plan_document import (
    AGAIN,
    PlanDocument,
    read_plan_document,
    sum_of,
    sum_of_stated_runs,
    write_plan_document,
)
from coilwright.workflow.planned_case import PlannedCase
from coilwright.workflow.run_identity import run_identity

MAP_NAME, PICTURE_NAME, PLAN_NAME = "vein-map.json", "map.png", "plan.json"
PULL_NAME = "pull-list.json"
FIRST = "run coilwright plan first"


def outputs(planned: PlannedCase) -> dict[str, bytes]:
    """File names and contents: map and picture where a run was measured, pull-list and plan."""
    files = {PULL_NAME: pull_list_to_json(planned.pull_list).encode()}
    if planned.vein_map is not None:
        files[MAP_NAME] = vein_map_to_json(planned.vein_map).encode()
    if planned.map_picture is not None:
        files[PICTURE_NAME] = planned.map_picture
    return files | {PLAN_NAME: write_plan_document(planned, files)}


def load_planned(case_file: Path, folder: Path, *, today: date) -> PlannedCase:
    """The planned case of a folder, the case itself as its file states it now.

    What was given since the plan was made counts: the case is assessed again, against the limits
    that the plan was made with. Levels and coils stay as planned.

    Raises
    ------
    InputError
        The case cannot be used; a file of the plan is missing or was changed; or the plan belongs
        to another case, another run, or a run that was stated otherwise; or the case now holds
        something that no level may be worked out with.
    """
    plan_file = folder / PLAN_NAME
    document = read_plan_document(_read(plan_file).decode("utf-8", "replace"), plan_file)
    case = one_side(load_case(case_file, today), document.basis.side, case_file)
    _require_same_case(case, document, plan_file)
    files = {name: _read_whole(folder / name, stated) for name, stated in _files(document)}
    if PULL_NAME not in files:
        raise _problem(plan_file, "made_for.files", "the plan has no pull-list")
    vein_map = None
    if MAP_NAME in files:
        vein_map = vein_map_from_json(files[MAP_NAME].decode(), folder / MAP_NAME)
    assessed = assess(case.facts(today), document.protocol)
    if vein_map is not None and document.plan.levels:
        _require_not_held_back(case, vein_map, assessed, plan_file)
    return PlannedCase(
        case=case,
        vein_map=vein_map,
        map_picture=files.get(PICTURE_NAME),
        plan=_assessed_again(document, assessed),
        pull_list=pull_list_from_json(files[PULL_NAME].decode(), folder / PULL_NAME),
        protocol=document.protocol,
        assessed=len(assessed),
        side=document.basis.side,
    )


def _assessed_again(document: PlanDocument, assessed: tuple[Advisory, ...]) -> OcclusionPlan:
    """The plan with the case's advisories of now."""
    plan, before = document.plan, document.basis.assessed
    after = (*assessed, *plan.advisories[before:])
    return replace(plan, advisories=after, missing=_missing(plan, before, after))


def _require_not_held_back(
    case: Case, vein_map: VeinMap, assessed: tuple[Advisory, ...], plan_file: Path
) -> None:
    """Levels may not stand, nor their picture, where the case now says what holds them back."""
    holds = held_back(case, (*assessed, *side_of_map(case, vein_map)))
    if holds:
        found = f"no longer stands as the case is now ({', '.join(holds)})"
        raise _problem(plan_file, "levels", found)


def _missing(plan: OcclusionPlan, assessed: int, after: tuple[Advisory, ...]) -> tuple[str, ...]:
    """What is missing now: the plan's own items, and those of the new assessment."""
    of_before = {item for advisory in plan.advisories[:assessed] for item in advisory.missing}
    own = [item for item in plan.missing if item not in of_before]
    return tuple(dict.fromkeys([*(item for a in after for item in a.missing), *own]))


def _require_same_case(case: Case, document: PlanDocument, plan_file: Path) -> None:
    basis = document.basis
    if basis.case != case.id:
        found = "the plan belongs to another case (patient id or day of the procedure differ)"
        raise _problem(plan_file, "made_for.case", found)
    uids = _identities(case)
    if basis.runs[:1] != uids[:1] or not set(basis.runs) <= set(uids):
        raise _problem(plan_file, "made_for.runs", "the plan was made for another run")
    if basis.stated_runs != sum_of_stated_runs(case):
        found = "what the case states of its runs has changed since the plan"
        raise _problem(plan_file, "made_for.stated_runs", found)


def _identities(case: Case) -> tuple[str, ...]:
    """SOP Instance UIDs of the case's runs; a later one that cannot be read was never on a map."""
    uids = []
    for place, run in enumerate(case.runs):
        try:
            uids.append(run_identity(run.file).sop_instance_uid)
        except FileProblem:
            if place == 0:
                raise
    return tuple(uids)


def _files(document: PlanDocument) -> list[tuple[str, str]]:
    """The files beside the plan with their sums; names of ours alone, never a path."""
    stated = document.basis.files
    return [(name, stated[name]) for name in (MAP_NAME, PICTURE_NAME, PULL_NAME) if name in stated]


def _read_whole(file: Path, stated: str) -> bytes:
    content = _read(file)
    if sum_of(content) != stated:
        raise _problem(file, "file", "was changed after the plan was made")
    return content


def _read(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except FileNotFoundError as error:
        raise FileProblem(file, Problem(field="file", found="not there", mend=FIRST)) from error
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        problem = Problem(field="file", found=found, mend="name a folder that can be read")
        raise FileProblem(file, problem) from error


def _problem(file: Path, field: str, found: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=AGAIN))
