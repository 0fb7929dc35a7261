"""A completion run compared with the map before: files in, comparison out."""

import json
from dataclasses import dataclass
from pathlib import Path

from coilwright.errors import FileProblem, Problem
from coilwright.planning import plan_from_json
from coilwright.veins import Comparison, Conditions, Stretch, VeinMap, vein_map_from_json
from coilwright.venogram import (
    AskedZone,
    CompletionRun,
    compare_with_map,
    picture_of_comparison,
    read_header,
    read_run,
)
from coilwright.workflow.plan_document import BASIS, read_plan_document


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedFiles:
    """The comparison and its picture (PNG), null where the run could not be laid on the map."""

    comparison: Comparison
    picture: bytes | None


def compare_runs(
    before: Path, completion: Path, conditions: Conditions, plan: Path | None = None
) -> ComparedFiles:
    """What the completion run shows of the plan's zones, or without a plan of each vessel.

    Raises
    ------
    FileProblem
        A file cannot be read, the plan is not of this map, or the run cannot be laid on it.
    """
    vein_map = vein_map_from_json(_text(before), before)
    if not vein_map.runs:
        raise _wrong(before, "runs", "the map holds no run", "measure the run before again")
    zones = _each_vessel(vein_map) if plan is None else _of_plan(plan, vein_map)
    run = CompletionRun(
        run=read_run(completion), header=read_header(completion), conditions=conditions
    )
    compared = compare_with_map(vein_map, before, run, zones)
    picture = picture_of_comparison(vein_map, compared)
    return ComparedFiles(comparison=compared.comparison, picture=picture)


def _of_plan(file: Path, vein_map: VeinMap) -> tuple[AskedZone, ...]:
    text = _text(file)
    plan = plan_from_json(text, file)
    if BASIS in json.loads(text):
        made_for = read_plan_document(text, file).basis.runs
        if made_for and vein_map.runs[0].sop_instance_uid not in made_for:
            mend = "give the plan made on this map, or leave it out"
            raise _wrong(file, BASIS, "the plan was made for another run", mend)
    if not plan.levels:
        raise _wrong(file, "levels", "the plan has none", "leave the plan out, or plan again")
    zones = []
    for level in plan.levels:
        if all(vessel.id != level.zone.vessel for vessel in vein_map.vessels):
            found = f"the map has no vessel '{level.zone.vessel}'"
            raise _wrong(file, "levels.zone.vessel", found, "give the plan made on this map")
        zone = Stretch(vessel=level.zone.vessel, from_mm=level.zone.from_mm, to_mm=level.zone.to_mm)
        zones.append(AskedZone(name=f"{level.name.value} level", zone=zone))
    return tuple(zones)


def _each_vessel(vein_map: VeinMap) -> tuple[AskedZone, ...]:
    return tuple(
        AskedZone(
            name=vessel.id,
            zone=Stretch(vessel=vessel.id, from_mm=vessel.arc_mm[0], to_mm=vessel.arc_mm[-1]),
        )
        for vessel in vein_map.vessels
    )


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise _wrong(file, "file", "not UTF-8 text", "give a file written by coilwright") from error
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        raise _wrong(file, "file", found, "give a file that can be read") from error


def _wrong(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))
