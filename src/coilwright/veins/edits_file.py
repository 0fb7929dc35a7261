"""The edits file (`coilwright.map-edits`, 1): TOML read into edits, or one sentence of refusal."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from coilwright.errors import FileProblem, Problem
from coilwright.toml_file import read_toml
from coilwright.veins.checked_table import CheckedTable, require_head
from coilwright.veins.conditions_file import conditions_in
from coilwright.veins.edited_map import EditProblem, with_edits
from coilwright.veins.edited_vessels import Measure
from coilwright.veins.edits import (
    AddVessel,
    DropVessel,
    Edit,
    JoinVessels,
    MapEdits,
    MarkLevel,
    NameTrunk,
    SetScale,
    Signed,
    SplitVessel,
    StateConditions,
)
from coilwright.veins.vein_map import VeinMap
from coilwright.veins.vessels import OwnEnd, VesselKind

FORMAT = "coilwright.map-edits"
VERSION = 1
SIGNED_KEYS = ("do", "by", "at", "why")
HEAD_KEYS = ("format", "version", "sop_instance_uid", "edit")
LANDMARKS = ("ostium", "internal_ring", "superior_ramus_edge")

# Possible values, so that a slip of the pen is caught: (least, most).
SCALE_MM = (0.02, 2.0)
RELATIVE_SD = (0.0005, 0.5)
ALONG_MM = (0.0, 1000.0)
CALIBRE_MM = (0.2, 40.0)
MARK_SD_MM = (0.1, 50.0)
RUN_NUMBER = (0.0, 99.0)


def read_edits(file: Path) -> MapEdits:
    """The edits in a file.

    Raises
    ------
    FileProblem
        Not readable, not an edits file, or an edit that cannot be meant; the first is told.
    """
    table = read_toml(file).table
    require_head(file, table, FORMAT, VERSION, HEAD_KEYS)
    stated = table.get("sop_instance_uid")
    if stated is not None and not (isinstance(stated, str) and stated.strip()):
        raise _wrong(file, "sop_instance_uid", "not a text", "write the run's SOP Instance UID")
    items = table.get("edit", [])
    if not isinstance(items, list) or not items or not all(isinstance(i, dict) for i in items):
        raise _wrong(file, "edit", "no edits", "write each as a table headed [[edit]]")
    edits = tuple(
        _edit(CheckedTable(file, item, f"edit {number}", SIGNED_KEYS))
        for number, item in enumerate(items, start=1)
    )
    return MapEdits(edits=edits, sop_instance_uid=stated)


def with_edits_of_file(
    vein_map: VeinMap, file: Path, edits: MapEdits, measure: Measure = lambda vessel, _: vessel
) -> VeinMap:
    """The map with a file's edits replayed; what does not fit is told with the file's name.

    Raises
    ------
    FileProblem
        An edit does not fit the map.
    """
    try:
        return with_edits(vein_map, edits, measure)
    except EditProblem as error:
        field = (
            f"edit {error.number}, {error.problem.field}" if error.number else (error.problem.field)
        )
        problem = Problem(field=field, found=error.problem.found, mend=error.problem.mend)
        raise FileProblem(file, problem) from error


def _wrong(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))


def _edit(table: CheckedTable) -> Edit:
    what = table.text("do", f"what is done: {', '.join(_READERS)}")
    reader = _READERS.get(what)
    if reader is None:
        raise table.wrong("do", "not possible", f"write one of {', '.join(_READERS)}")
    edit = reader(table)
    table.done()
    return edit


def _signed(table: CheckedTable) -> Signed:
    at = table.value("at", "when it was done, such as 2026-01-31T10:42:00+01:00")
    if not isinstance(at, datetime):
        mend = "write day and time without quotation marks, such as 2026-01-31T10:42:00"
        raise table.wrong("at", "not a day with its time", mend)
    return Signed(
        by=table.text("by", "who did it"), at=at, why=table.text("why", "the reason for it")
    )


def _drop(table: CheckedTable) -> Edit:
    return DropVessel(signed=_signed(table), vessel=table.text("vessel", "a vessel's id"))


def _join(table: CheckedTable) -> Edit:
    return JoinVessels(
        signed=_signed(table),
        vessel=table.text("vessel", "the id that stays"),
        to=table.text("to", "the id of the other vessel"),
    )


def _split(table: CheckedTable) -> Edit:
    return SplitVessel(
        signed=_signed(table),
        vessel=table.text("vessel", "a vessel's id"),
        at_mm=table.number("at_mm", ALONG_MM, " mm"),
        new_id=table.text("new_id", "the id of what lies beyond"),
    )


def _add(table: CheckedTable) -> Edit:
    diameter_mm = table.maybe("diameter_mm", CALIBRE_MM, " mm")
    sd_mm = table.maybe("diameter_sd_mm", CALIBRE_MM, " mm")
    if (diameter_mm is None) != (sd_mm is None):
        missing = "diameter_mm" if diameter_mm is None else "diameter_sd_mm"
        mend = "state a calibre with its standard deviation, or neither"
        raise table.wrong(missing, "missing beside the other", mend)
    return AddVessel(
        signed=_signed(table),
        new_id=table.text("new_id", "an id for it"),
        kind=table.option("kind", VesselKind),
        points_px=table.points("points_px"),
        parent=table.text("parent", "a vessel's id") if table.has("parent") else None,
        diameter_mm=diameter_mm,
        diameter_sd_mm=sd_mm,
    )


def _trunk(table: CheckedTable) -> Edit:
    return NameTrunk(
        signed=_signed(table),
        vessel=table.text("vessel", "a vessel's id"),
        cranial_end=table.option("cranial_end", OwnEnd),
    )


def _mark(table: CheckedTable) -> Edit:
    landmark = table.text("landmark", " or ".join(LANDMARKS))
    if landmark not in LANDMARKS:
        raise table.wrong("landmark", "not possible", f"write one of {', '.join(LANDMARKS)}")
    return MarkLevel(
        signed=_signed(table),
        landmark=landmark,
        point_px=table.point("point_px", table.value("point_px", "[x, y] in pixels")),
        sd_mm=table.number("sd_mm", MARK_SD_MM, " mm"),
    )


def _scale(table: CheckedTable) -> Edit:
    return SetScale(
        signed=_signed(table),
        mm_per_pixel=table.number("mm_per_pixel", SCALE_MM, " mm per pixel"),
        relative_sd=table.number("relative_sd", RELATIVE_SD, ""),
    )


def _conditions(table: CheckedTable) -> Edit:
    run = table.number("run", RUN_NUMBER, "")
    if run != int(run):
        raise table.wrong("run", "not a whole number", "count runs from 0")
    return StateConditions(signed=_signed(table), run=int(run), conditions=conditions_in(table))


_READERS: dict[str, Callable[[CheckedTable], Edit]] = {
    "drop": _drop,
    "join": _join,
    "split": _split,
    "add": _add,
    "trunk": _trunk,
    "mark": _mark,
    "scale": _scale,
    "conditions": _conditions,
}
