"""A department's own devices in a CSV: one line a device, columns as in docs/kit-csv.md."""

import re
from collections.abc import Callable
from dataclasses import MISSING, fields
from pathlib import Path
from typing import Any, get_type_hints

from coilwright.csv_file import CsvLines, csv_head, csv_lines, filled_cells, read_csv_text
from coilwright.kit.device import Device
from coilwright.kit.device_row import device_from_row, file_problem, mend_of, mend_of_unknown
from coilwright.kit.kit import KINDS, Kit

KIND_COLUMN = "kind"
_YES_NO = {"true": True, "yes": True, "false": False, "no": False}
# Python alone takes 1_0 and figures of other scripts for numbers too.
_WHOLE = re.compile(r"-?[0-9]{1,12}")
_DECIMAL = re.compile(r"-?[0-9]{0,12}(\.[0-9]{0,12})?")
Reader = Callable[[str], Any]


def _as_int(cell: str) -> int:
    if not _WHOLE.fullmatch(cell):
        raise ValueError(cell)
    return int(cell)


def _as_float(cell: str) -> float:
    if not _DECIMAL.fullmatch(cell):
        raise ValueError(cell)
    return float(cell)


def _as_bool(cell: str) -> bool:
    if cell.lower() not in _YES_NO:
        raise ValueError(cell)
    return _YES_NO[cell.lower()]


def _reader_of(hint: Any) -> Reader:
    for plain, read in ((bool, _as_bool), (int, _as_int), (float, _as_float)):
        if hint in (plain, plain | None):
            return read
    return str


# How each cell of each kind is read; worked out once, since a list has thousands of lines.
_READERS = {
    kind: {name: _reader_of(hint) for name, hint in get_type_hints(kind).items()}
    for kind in KINDS.values()
}
_TABLES = {table.removesuffix("s"): table for table in KINDS}
# One column a field strength: mr_1_5t is 1.5 T, mr_3t is 3 T.
_MR_COLUMN = re.compile(r"mr_(\d+(?:_\d+)?)t")
_SPELT_OUT = {"mr", "sources"}


def csv_columns() -> dict[str, tuple[str, ...]]:
    """Every column but those of MR, each with the kinds of device that have it."""
    columns: dict[str, list[str]] = {KIND_COLUMN: list(_TABLES)}
    for kind, table in _TABLES.items():
        for field in fields(KINDS[table]):
            if field.name != "mr":
                columns.setdefault(field.name, []).append(kind)
    return {name: tuple(kinds) for name, kinds in columns.items()}


def kit_from_csv(path: Path) -> Kit:
    """The catalogue in a CSV; nothing of it is taken where one cell cannot be used.

    Raises
    ------
    FileProblem
        Names the file, the line, the column and the mend.
    """
    lines = csv_lines(path, read_csv_text(path))
    head = _head(path, lines)
    tables: dict[str, list[Device]] = {}
    line_of: dict[str, int] = {}
    for number, cells in lines:
        if not any(cell.strip() for cell in cells):
            continue
        table, device = _device(path, number, head, cells)
        if device.id in line_of:
            raise file_problem(
                path,
                f"line {number}, column id",
                f"{device.id} stands in line {line_of[device.id]} too",
                "give each its own id",
            )
        line_of[device.id] = number
        tables.setdefault(table, []).append(device)
    if not tables:
        raise file_problem(path, "line 2", "no device", "write one device a line")
    return Kit(**{table: tuple(rows) for table, rows in tables.items()})  # type: ignore[arg-type]  # each table holds its own kind


def _head(path: Path, lines: CsvLines) -> list[str]:
    head = csv_head(path, lines)
    known = csv_columns()
    for name in head:
        at = f"line 1, column {name or '(no name)'}"
        if name not in known and not _MR_COLUMN.fullmatch(name):
            mend = mend_of_unknown(name, [*known, "mr_1_5t", "mr_3t"])
            raise file_problem(path, at, "unknown column", mend)
        if head.count(name) > 1:
            raise file_problem(path, at, "stands twice", "keep one of them")
    for name in (KIND_COLUMN, *_needed(Device)):
        if name not in head:
            raise file_problem(path, f"line 1, column {name}", "missing", f"add a column {name}")
    return head


def _needed(kind: type[Device]) -> list[str]:
    return [field.name for field in fields(kind) if field.default is MISSING]


def _device(path: Path, number: int, head: list[str], cells: list[str]) -> tuple[str, Device]:
    at = f"line {number}, column "
    filled = filled_cells(path, number, head, cells)
    kind_word = filled.pop(KIND_COLUMN, "")
    if kind_word not in _TABLES:
        mend = f"say one of {', '.join(_TABLES)}"
        raise file_problem(path, f"{at}{KIND_COLUMN}", f"{kind_word!r} is no kind of device", mend)
    kind = KINDS[_TABLES[kind_word]]
    row = _row(path, at, kind_word, kind, filled)
    return _TABLES[kind_word], device_from_row(path, at, row, kind)


def _row(
    path: Path, at: str, kind_word: str, kind: type[Device], filled: dict[str, str]
) -> dict[str, Any]:
    """The cells as the values that the kind's fields hold."""
    readers = _READERS[kind]
    row: dict[str, Any] = {}
    for name, cell in filled.items():
        if name not in readers and (match := _MR_COLUMN.fullmatch(name)):
            condition = {"field_t": float(match[1].replace("_", ".")), "label": cell}
            row.setdefault("mr", []).append(condition)
        elif name not in readers:
            mend = f"leave it empty: {mend_of_unknown(name, list(readers))}"
            raise file_problem(path, f"{at}{name}", f"no value of a {kind_word}", mend)
        elif name == "sources":
            row[name] = _sources(path, at, cell)
        else:
            row[name] = _value(path, at, name, cell, readers[name])
    return row


def _value(path: Path, at: str, name: str, cell: str, read: Reader) -> Any:
    try:
        return read(cell)
    except ValueError as error:
        found = f"{cell!r} cannot be used"
        raise file_problem(path, f"{at}{name}", found, mend_of(name)) from error


def _sources(path: Path, at: str, cell: str) -> list[dict[str, str]]:
    """Written "value: where it was read", parted by a bar."""
    sources = []
    for part in cell.split("|"):
        value, colon, read_at = (word.strip() for word in part.partition(":"))
        if not (value and colon and read_at):
            mend = "write value: where it was read, parted by |"
            raise file_problem(path, f"{at}sources", f"{part.strip()!r} cannot be used", mend)
        sources.append({"value": value, "read_at": read_at})
    return sources
