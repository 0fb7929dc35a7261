"""The edits file (`coilwright.map-edits`, 1): TOML read into edits, or one sentence of refusal."""

import math
from collections.abc import Callable, Mapping
from datetime import datetime
from enum import StrEnum
from itertools import pairwise
from pathlib import Path
from typing import TypeVar

from coilwright.errors import FileProblem, Problem
from coilwright.toml_file import read_toml
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
from coilwright.veins.runs import Conditions
from coilwright.veins.vein_map import VeinMap
from coilwright.veins.vessels import OwnEnd, Point, VesselKind

FORMAT = "coilwright.map-edits"
VERSION = 1
HEAD_KEYS = ("format", "version", "sop_instance_uid", "edit")
LANDMARKS = ("ostium", "internal_ring", "superior_ramus_edge")

Choice = TypeVar("Choice", bound=StrEnum)
# Possible values, so that a slip of the pen is caught: (least, most).
PIXELS = (-4096.0, 8192.0)
SCALE_MM = (0.02, 2.0)
RELATIVE_SD = (0.0005, 0.5)
ALONG_MM = (0.0, 1000.0)
CALIBRE_MM = (0.2, 40.0)
MARK_SD_MM = (0.1, 50.0)
VOLUME_ML = (0.1, 100.0)
RATE_ML_PER_S = (0.05, 30.0)
TILT_DEG = (-45.0, 90.0)
RUN_NUMBER = (0.0, 99.0)


class _Table:
    """One ``[[edit]]``, read key by key; the first thing wrong is told."""

    def __init__(self, file: Path, table: Mapping[str, object], number: int) -> None:
        self._file, self._table, self._number = file, table, number
        self._known = {"do", "by", "at", "why"}

    def wrong(self, key: str, found: str, mend: str) -> FileProblem:
        field = f"edit {self._number}, {' '.join(key.split())[:40]}"
        return FileProblem(self._file, Problem(field=field, found=found, mend=mend))

    def has(self, key: str) -> bool:
        self._known.add(key)
        return key in self._table

    def value(self, key: str, what: str) -> object:
        if not self.has(key):
            raise self.wrong(key, "missing", f"add {what}")
        return self._table[key]

    def text(self, key: str, what: str) -> str:
        value = self.value(key, what)
        if not isinstance(value, str) or not value.strip():
            raise self.wrong(key, "not a text", f"write {what} in quotation marks")
        return value.strip()

    def number(self, key: str, between: tuple[float, float], unit: str) -> float:
        low, high = between
        what = f"a number from {low:g} to {high:g}{unit}"
        value = self.value(key, what)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.wrong(key, "not a number", f"write {what}")
        if not (math.isfinite(value) and low <= value <= high):
            raise self.wrong(key, f"{value:g}{unit} is impossible", f"write {what}")
        return float(value)

    def maybe(self, key: str, between: tuple[float, float], unit: str) -> float | None:
        return self.number(key, between, unit) if self.has(key) else None

    def flag(self, key: str) -> bool | None:
        if not self.has(key):
            return None
        value = self._table[key]
        if not isinstance(value, bool):
            raise self.wrong(key, "neither true nor false", "write true or false")
        return value

    def option(self, key: str, options: type[Choice]) -> Choice:
        words = " or ".join(f'"{option.value}"' for option in options)
        value = self.text(key, words)
        try:
            return options(value)
        except ValueError:
            raise self.wrong(key, "not possible", f"write {words}") from None

    def point(self, key: str, value: object) -> Point:
        if not (isinstance(value, list) and len(value) == 2):
            raise self.wrong(key, "not a point", "write [x, y] in pixels, column first")
        for part in value:
            if isinstance(part, bool) or not isinstance(part, int | float):
                raise self.wrong(key, "not a point", "write [x, y] in pixels, column first")
            if not PIXELS[0] <= part <= PIXELS[1]:
                raise self.wrong(key, f"{part:g} lies outside any picture", "write pixels")
        return float(value[0]), float(value[1])

    def points(self, key: str) -> tuple[Point, ...]:
        value = self.value(key, "a list of points [x, y] in pixels")
        if not isinstance(value, list) or len(value) < 2:
            raise self.wrong(key, "not a path", "write two points [x, y] or more")
        points = tuple(self.point(key, part) for part in value)
        if any(a == b for a, b in pairwise(points)):
            raise self.wrong(key, "the same point twice in a row", "leave one of them out")
        return points

    def signed(self) -> Signed:
        at = self.value("at", "when it was done, such as 2026-01-31T10:42:00+01:00")
        if not isinstance(at, datetime):
            mend = "write day and time without quotation marks, such as 2026-01-31T10:42:00"
            raise self.wrong("at", "not a day with its time", mend)
        return Signed(
            by=self.text("by", "who did it"), at=at, why=self.text("why", "the reason for it")
        )

    def done(self) -> None:
        unknown = [key for key in self._table if key not in self._known]
        if unknown:
            known = ", ".join(sorted(self._known))
            raise self.wrong(unknown[0], "unknown key", f"use one of {known}")


def read_edits(file: Path) -> MapEdits:
    """The edits in a file.

    Raises
    ------
    FileProblem
        Not readable, not an edits file, or an edit that cannot be meant; the first is told.
    """
    table = read_toml(file).table
    _require_head(file, table)
    stated = table.get("sop_instance_uid")
    if stated is not None and not (isinstance(stated, str) and stated.strip()):
        raise _wrong(file, "sop_instance_uid", "not a text", "write the run's SOP Instance UID")
    items = table.get("edit", [])
    if not isinstance(items, list) or not items or not all(isinstance(i, dict) for i in items):
        raise _wrong(file, "edit", "no edits", "write each as a table headed [[edit]]")
    edits = tuple(_edit(_Table(file, item, number)) for number, item in enumerate(items, start=1))
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


def _require_head(file: Path, table: Mapping[str, object]) -> None:
    if table.get("format") != FORMAT:
        raise _wrong(file, "format", "not an edits file", f'write format = "{FORMAT}"')
    version = table.get("version")
    if version != VERSION or isinstance(version, bool):
        raise _wrong(file, "version", "not known here", f"write version = {VERSION}")
    unknown = [key for key in table if key not in HEAD_KEYS]
    if unknown:
        name = " ".join(unknown[0].split())[:40]
        raise _wrong(file, name, "unknown key", f"use one of {', '.join(HEAD_KEYS)}")


def _edit(table: _Table) -> Edit:
    what = table.text("do", f"what is done: {', '.join(_READERS)}")
    reader = _READERS.get(what)
    if reader is None:
        raise table.wrong("do", "not possible", f"write one of {', '.join(_READERS)}")
    edit = reader(table)
    table.done()
    return edit


def _drop(table: _Table) -> Edit:
    return DropVessel(signed=table.signed(), vessel=table.text("vessel", "a vessel's id"))


def _join(table: _Table) -> Edit:
    return JoinVessels(
        signed=table.signed(),
        vessel=table.text("vessel", "the id that stays"),
        to=table.text("to", "the id of the other vessel"),
    )


def _split(table: _Table) -> Edit:
    return SplitVessel(
        signed=table.signed(),
        vessel=table.text("vessel", "a vessel's id"),
        at_mm=table.number("at_mm", ALONG_MM, " mm"),
        new_id=table.text("new_id", "the id of what lies beyond"),
    )


def _add(table: _Table) -> Edit:
    diameter_mm = table.maybe("diameter_mm", CALIBRE_MM, " mm")
    sd_mm = table.maybe("diameter_sd_mm", CALIBRE_MM, " mm")
    if (diameter_mm is None) != (sd_mm is None):
        missing = "diameter_mm" if diameter_mm is None else "diameter_sd_mm"
        mend = "state a calibre with its standard deviation, or neither"
        raise table.wrong(missing, "missing beside the other", mend)
    return AddVessel(
        signed=table.signed(),
        new_id=table.text("new_id", "an id for it"),
        kind=table.option("kind", VesselKind),
        points_px=table.points("points_px"),
        parent=table.text("parent", "a vessel's id") if table.has("parent") else None,
        diameter_mm=diameter_mm,
        diameter_sd_mm=sd_mm,
    )


def _trunk(table: _Table) -> Edit:
    return NameTrunk(
        signed=table.signed(),
        vessel=table.text("vessel", "a vessel's id"),
        cranial_end=table.option("cranial_end", OwnEnd),
    )


def _mark(table: _Table) -> Edit:
    landmark = table.text("landmark", " or ".join(LANDMARKS))
    if landmark not in LANDMARKS:
        raise table.wrong("landmark", "not possible", f"write one of {', '.join(LANDMARKS)}")
    return MarkLevel(
        signed=table.signed(),
        landmark=landmark,
        point_px=table.point("point_px", table.value("point_px", "[x, y] in pixels")),
        sd_mm=table.number("sd_mm", MARK_SD_MM, " mm"),
    )


def _scale(table: _Table) -> Edit:
    return SetScale(
        signed=table.signed(),
        mm_per_pixel=table.number("mm_per_pixel", SCALE_MM, " mm per pixel"),
        relative_sd=table.number("relative_sd", RELATIVE_SD, ""),
    )


def _conditions(table: _Table) -> Edit:
    run = table.number("run", RUN_NUMBER, "")
    if run != int(run):
        raise table.wrong("run", "not a whole number", "count runs from 0")
    conditions = Conditions(
        tip_site=table.text("tip_site", "a place") if table.has("tip_site") else None,
        volume_ml=table.maybe("volume_ml", VOLUME_ML, " mL"),
        rate_ml_per_s=table.maybe("rate_ml_per_s", RATE_ML_PER_S, " mL/s"),
        valsalva=table.flag("valsalva"),
        tilt_deg=table.maybe("tilt_deg", TILT_DEG, " degrees"),
        breath_phase=table.text("breath_phase", "words") if table.has("breath_phase") else None,
    )
    return StateConditions(signed=table.signed(), run=int(run), conditions=conditions)


_READERS: dict[str, Callable[[_Table], Edit]] = {
    "drop": _drop,
    "join": _join,
    "split": _split,
    "add": _add,
    "trunk": _trunk,
    "mark": _mark,
    "scale": _scale,
    "conditions": _conditions,
}
