"""The marks file (`coilwright.network-marks`, 1): TOML read into marks, or one refusal."""

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from coilwright.errors import FileProblem, Problem
from coilwright.planning.network_marks import (
    Channel,
    FarEnd,
    NetworkMarks,
    NewPoint,
    Place,
    Protected,
    SeenBy,
    StatedCalibre,
)
from coilwright.toml_file import read_toml
from coilwright.veins import OwnEnd
from coilwright.veins.checked_table import CheckedTable, require_head
from coilwright.veins.edits import Signed
from coilwright.veins.vein_network import PointKind

FORMAT = "coilwright.network-marks"
VERSION = 1
LISTS = ("far_end", "protected", "calibre", "channel")
HEAD_KEYS = ("format", "version", "catheter", *LISTS)
# Possible values, so that a slip of the pen is caught: (least, most).
ALONG_MM = (0.0, 1000.0)
LENGTH_MM = (0.5, 1000.0)
CALIBRE_MM = (0.2, 40.0)
SD_MM = (0.0, 20.0)
DEVICE_MM = (0.2, 10.0)
COST = (0.001, 1000.0)

Mark = TypeVar("Mark")


def read_network_marks(file: Path) -> NetworkMarks:
    """The marks in a file.

    Raises
    ------
    FileProblem
        Not readable, not a marks file, or a mark that cannot be meant; the first is told.
    """
    table = read_toml(file).table
    require_head(file, table, FORMAT, VERSION, HEAD_KEYS)
    head = table.get("catheter")
    if not isinstance(head, dict):
        raise _wrong(file, "catheter", "missing", "write it as a table headed [catheter]")
    catheter = CheckedTable(file, head, "catheter")
    enters, outer_mm = _place(catheter), catheter.number("outer_diameter_mm", DEVICE_MM, " mm")
    catheter.done()
    return NetworkMarks(
        enters=enters,
        outer_diameter_mm=outer_mm,
        far_ends=_each(file, table, "far_end", lambda one, _: _far_end(one)),
        protected=_each(file, table, "protected", lambda one, _: _protected(one)),
        calibres=_each(file, table, "calibre", lambda one, _: _calibre(one)),
        channels=_each(file, table, "channel", lambda one, label: _channel(file, one, label)),
    )


def _wrong(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))


def _each(
    file: Path, table: dict[str, object], key: str, read: Callable[[CheckedTable, str], Mark]
) -> tuple[Mark, ...]:
    items = table.get(key, [])
    if not isinstance(items, list) or not all(isinstance(item, dict) for item in items):
        raise _wrong(file, key, "not a list of tables", f"write each as a table headed [[{key}]]")
    found = []
    for number, item in enumerate(items, start=1):
        label = f"{key} {number}"
        one = CheckedTable(file, item, label)
        found.append(read(one, label))
        one.done()
    return tuple(found)


def _signed(table: CheckedTable) -> Signed:
    at = table.value("at", "when it was said, such as 2026-01-31T10:42:00+01:00")
    if not isinstance(at, datetime):
        mend = "write day and time without quotation marks, such as 2026-01-31T10:42:00"
        raise table.wrong("at", "not a day with its time", mend)
    return Signed(by=table.text("by", "who says so"), at=at, why=table.text("why", "the reason"))


def _place(table: CheckedTable) -> Place:
    return Place(
        vessel=table.text("vessel", "a vessel's id"), at_mm=table.number("at_mm", ALONG_MM, " mm")
    )


def _far_end(table: CheckedTable) -> FarEnd:
    return FarEnd(
        signed=_signed(table),
        vessel=table.text("vessel", "a vessel's id"),
        own_end=table.option("own_end", OwnEnd),
        kind=_end_kind(table),
    )


def _end_kind(table: CheckedTable) -> PointKind:
    kind = table.option("kind", PointKind)
    if kind is PointKind.JUNCTION:
        raise table.wrong("kind", "an end joins nothing", "write inflow, outflow or end")
    return kind


def _protected(table: CheckedTable) -> Protected:
    from_mm = table.maybe("from_mm", ALONG_MM, " mm")
    to_mm = table.maybe("to_mm", ALONG_MM, " mm")
    if from_mm is not None and to_mm is not None and from_mm >= to_mm:
        raise table.wrong("to_mm", "not beyond from_mm", "write the larger arc in to_mm")
    return Protected(
        signed=_signed(table),
        vessel=table.text("vessel", "a vessel's id"),
        from_mm=from_mm,
        to_mm=to_mm,
    )


def _calibre(table: CheckedTable) -> StatedCalibre:
    return StatedCalibre(
        signed=_signed(table),
        vessel=table.text("vessel", "a vessel's id"),
        diameter_mm=table.number("diameter_mm", CALIBRE_MM, " mm"),
        diameter_sd_mm=table.number("diameter_sd_mm", SD_MM, " mm"),
        relaxed_diameter_mm=table.maybe("relaxed_diameter_mm", CALIBRE_MM, " mm"),
    )


def _channel(file: Path, table: CheckedTable, label: str) -> Channel:
    may_occlude = table.flag("may_occlude")
    if may_occlude is None:
        raise table.wrong("may_occlude", "missing", "write true or false")
    cost = table.maybe("cost", COST, "")
    return Channel(
        signed=_signed(table),
        new_id=table.text("new_id", "an id for it"),
        seen_by=table.option("seen_by", SeenBy),
        from_place=_channel_end(file, table, "from", label),
        to_place=_channel_end(file, table, "to", label),
        length_mm=table.number("length_mm", LENGTH_MM, " mm"),
        diameter_mm=table.number("diameter_mm", CALIBRE_MM, " mm"),
        diameter_sd_mm=table.number("diameter_sd_mm", SD_MM, " mm"),
        relaxed_diameter_mm=table.maybe("relaxed_diameter_mm", CALIBRE_MM, " mm"),
        may_occlude=may_occlude,
        cost=1.0 if cost is None else cost,
    )


def _channel_end(file: Path, table: CheckedTable, key: str, label: str) -> Place | NewPoint:
    how = '{ vessel = "trunk", at_mm = 40.0 } or { point = "pelvis", kind = "outflow" }'
    value = table.value(key, how)
    if not isinstance(value, dict):
        raise table.wrong(key, "not a place", f"write {how}")
    end = CheckedTable(file, value, f"{label}, {key}")
    if end.has("point"):
        found: Place | NewPoint = NewPoint(
            name=end.text("point", "a name for it"), kind=end.option("kind", PointKind)
        )
    else:
        found = _place(end)
    end.done()
    return found
