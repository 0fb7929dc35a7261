"""The shelf as a CSV, out and in: one line a batch, columns as in docs/shelf-csv.md."""

import csv
import io
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

from coilwright.csv_file import CsvLines, csv_head, csv_lines, csv_problem, filled_cells
from coilwright.kit import ImpossibleLabel
from coilwright.record.shelf import Shelf
from coilwright.record.shelf_facts import DeviceReceived
from coilwright.record.shelf_pack import Pack

SHELF_COLUMNS = ("di", "lot", "serial", "expiry", "count")


def shelf_to_csv(shelf: Shelf) -> str:
    """What lies on the shelf, one line a batch; an empty cell is what the pack does not state.

    Batches with nothing on the shelf are left out, and with them what is owed.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(SHELF_COLUMNS)
    for batch in shelf.batches:
        if batch.on_shelf:
            pack = batch.pack
            writer.writerow((pack.di, pack.lot, pack.serial, pack.expiry, batch.on_shelf))
    return text.getvalue()


def packs_from_csv(text: str, file: Path) -> tuple[tuple[Pack, int], ...]:
    """The packs and their counts, to be received; ``file`` is for the words of an error alone.

    Raises
    ------
    FileProblem
        Names the file, the line, the column and the mend. Nothing of the file is taken then.
    """
    lines = csv_lines(file, text.removeprefix("\ufeff"))
    head = _head(file, lines)
    line_of: dict[Pack, int] = {}
    packs: list[tuple[Pack, int]] = []
    for number, pack, count in _packs(file, head, lines):
        if pack in line_of:
            found = f"{pack} stands in line {line_of[pack]} too"
            raise csv_problem(
                file, f"line {number}", found, "write it once, with both counts added"
            )
        line_of[pack] = number
        packs.append((pack, count))
    if not packs:
        raise csv_problem(file, "line 2", "no pack", "write one batch a line")
    return tuple(packs)


def _head(file: Path, lines: CsvLines) -> list[str]:
    head = csv_head(file, lines)
    for name in head:
        at = f"line 1, column {name or '(no name)'}"
        if name not in SHELF_COLUMNS:
            raise csv_problem(file, at, "unknown column", f"use {', '.join(SHELF_COLUMNS)}")
        if head.count(name) > 1:
            raise csv_problem(file, at, "stands twice", "keep one of them")
    for name in SHELF_COLUMNS:
        if name not in head:
            mend = f"add a column {name}; its cells may be empty where the packs do not state it"
            if name in ("di", "count"):
                mend = f"add a column {name}"
            raise csv_problem(file, f"line 1, column {name}", "missing", mend)
    return head


def _packs(file: Path, head: list[str], lines: CsvLines) -> Iterator[tuple[int, Pack, int]]:
    for number, cells in lines:
        if not any(cell.strip() for cell in cells):
            continue
        filled = filled_cells(file, number, head, cells)
        at = f"line {number}, column "
        count, expiry = _count(file, at, filled), _expiry(file, at, filled)
        try:
            pack = Pack(
                di=filled.get("di", ""),
                lot=filled.get("lot"),
                serial=filled.get("serial"),
                expiry=expiry,
            )
            DeviceReceived(pack=pack, count=count)  # what can be received, in one place
        except ImpossibleLabel as error:
            raise csv_problem(file, f"{at}{error.field}", error.found, error.mend) from error
        yield number, pack, count


def _count(file: Path, at: str, filled: dict[str, str]) -> int:
    cell = filled.get("count", "")
    # Python alone takes 1_0 and figures of other scripts for numbers too.
    if not re.fullmatch(r"-?[0-9]{1,12}", cell):
        found = f"{cell!r} cannot be used" if cell else "empty"
        raise csv_problem(file, f"{at}count", found, "give a whole number of packs")
    return int(cell)


def _expiry(file: Path, at: str, filled: dict[str, str]) -> date | None:
    cell = filled.get("expiry")
    if cell is None:
        return None
    # Python alone takes 20280630 and weeks too.
    day = _day(cell) if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", cell) else None
    if day is None:
        mend = "give the last day of use such as 2028-06-30, or leave it empty"
        raise csv_problem(file, f"{at}expiry", f"{cell!r} cannot be used", mend)
    return day


def _day(cell: str) -> date | None:
    try:
        return date.fromisoformat(cell)
    except ValueError:  # no such day in the calendar
        return None
