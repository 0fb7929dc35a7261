"""The recall list (`coilwright.recalls`, 1; TOML): which lots of which device, on whose notice."""

from pathlib import Path
from typing import Any

from coilwright.errors import FileProblem, Problem
from coilwright.kit.identifiers import is_device_identifier
from coilwright.kit.udi_checks import Recall
from coilwright.toml_file import read_toml

FORMAT = "coilwright.recalls"
VERSION = 1
HEAD_KEYS = ("format", "version", "recall")
RECALL_KEYS = ("di", "lots", "source")


def load_recalls(path: Path) -> tuple[Recall, ...]:
    """The recalls of a list; an empty list is written as ``recall = []``, never left out.

    Raises
    ------
    FileProblem
        The file cannot be read, is no recall list, or one recall cannot be used. Nothing of it is
        taken then.
    """
    table = read_toml(path).table
    _check_keys(path, "", table, HEAD_KEYS)
    if table["format"] != FORMAT:
        raise _wrong(path, "format", "not a recall list", f'write format = "{FORMAT}" at the top')
    if table["version"] != VERSION or table["version"] is True:
        raise _wrong(path, "version", f"{table['version']!r} is not known here", f"write {VERSION}")
    rows = table["recall"]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        mend = "write [[recall]] for each, or recall = [] where there is none"
        raise _wrong(path, "recall", "not a list of tables", mend)
    return tuple(_recall(path, f"recall[{n}].", row) for n, row in enumerate(rows, start=1))


def _recall(path: Path, at: str, row: dict[str, Any]) -> Recall:
    _check_keys(path, at, row, RECALL_KEYS)
    di, lots, source = (row[key] for key in RECALL_KEYS)
    if not isinstance(di, str) or not is_device_identifier(di):
        mend = "copy the device identifier of the notice: a GTIN in fourteen figures, HIBC, ISBT"
        raise _wrong(path, f"{at}di", f"{di!r} is no device identifier", mend)
    if not isinstance(source, str) or not source.strip():
        raise _wrong(path, f"{at}source", "empty", "name the notice: who, title, date")
    return Recall(di=di, source=source.strip(), lots=_lots(path, at, lots))


def _lots(path: Path, at: str, lots: object) -> frozenset[str] | None:
    if lots == "every":
        return None
    if isinstance(lots, list) and lots and all(isinstance(x, str) and x.strip() for x in lots):
        return frozenset(lot.strip() for lot in lots)
    mend = 'write the lots as a list of texts, or "every"'
    raise _wrong(path, f"{at}lots", f"{lots!r} cannot be used", mend)


def _check_keys(path: Path, at: str, row: dict[str, Any], known: tuple[str, ...]) -> None:
    for key in row:
        if key not in known:
            raise _wrong(path, f"{at}{key}", "unknown key", f"use {', '.join(known)}")
    for key in known:
        if key not in row:
            raise _wrong(path, f"{at}{key}", "missing", f"add {key}")


def _wrong(path: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(path, Problem(field=field, found=found, mend=mend))
