"""A kit file (TOML), read into the catalogue; what is wrong is told with the dotted field."""

import json
from dataclasses import MISSING, fields
from datetime import date
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from coilwright.errors import FileProblem, Problem
from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device, ImpossibleLabel, MrCondition
from coilwright.kit.kit import Kit
from coilwright.kit.sclerosant import Sclerosant
from coilwright.toml_file import read_toml

FORMAT = "coilwright.kit"
VERSION = 1

_SHELVES: dict[str, type[Device]] = {
    "needles": Needle,
    "wires": Wire,
    "sheaths": Sheath,
    "catheters": Catheter,
    "microcatheters": Microcatheter,
    "coils": Coil,
    "sclerosants": Sclerosant,
}
_ADAPTERS = {table: TypeAdapter(kind) for table, kind in _SHELVES.items()}
_MEND_BY_UNIT = {
    "_fr": "give a number in French",
    "_inch": "give a number in inches",
    "_mm": "give a number in millimetres",
    "_cm": "give a number in centimetres",
    "_ml": "give a number in millilitres",
    "_percent": "give a number in per cent",
    "_t": "give a number in tesla",
    "_count": "give a whole number",
    "expiry": "give a date such as 2028-06-30",
    "fibred": "say true or false",
    "delivery": "say pushable or detachable",
    "wall": "say regular or thin",
    "gauge": "give a whole number",
    "mr": "give a list of { field_t, label }",
}


def load_kit(path: Path) -> Kit:
    """The catalogue in a kit file.

    Raises
    ------
    FileProblem
        The file cannot be read, is not TOML, is no kit, or holds an unknown key, a missing key
        or a value that cannot be used.
    """
    document = _document(path)
    tables = {
        table: tuple(
            _device(path, table, number, row)
            for number, row in enumerate(_rows(path, table, document), start=1)
        )
        for table in document
    }
    try:
        return Kit(**tables)  # type: ignore[arg-type]  # each table holds its own kind
    except ImpossibleLabel as error:
        raise _problem(path, error.field, error.found, error.mend) from error


def _document(path: Path) -> dict[str, Any]:
    document = read_toml(path).table
    if document.pop("format", None) != FORMAT:
        raise _problem(path, "format", "not a kit", f'write format = "{FORMAT}" at the top')
    if (version := document.pop("version", None)) != VERSION:
        raise _problem(path, "version", f"{version!r} is not known here", f"write {VERSION}")
    for key in document:
        if key not in _SHELVES:
            raise _unknown(path, key, key, list(_SHELVES))
    return document


def _rows(path: Path, table: str, document: dict[str, Any]) -> list[dict[str, Any]]:
    rows = document[table]
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        raise _problem(path, table, "not a list of tables", f"write [[{table}]] for each device")
    return rows


def _device(path: Path, table: str, number: int, row: dict[str, Any]) -> Device:
    where = f"{table}[{number}]"
    _check_keys(path, where, row, _SHELVES[table])
    if isinstance(row.get("mr"), list):
        for condition in row["mr"]:
            if isinstance(condition, dict):
                _check_keys(path, f"{where}.mr", condition, MrCondition)
    try:
        # Strict JSON takes names of an enum and dates as text, but no text for a number.
        return _ADAPTERS[table].validate_json(json.dumps(row, default=_as_text), strict=True)
    except ValidationError as error:
        raise _row_problem(path, where, error.errors()[0]) from error


def _as_text(value: object) -> str:
    return value.isoformat() if isinstance(value, date) else str(value)


def _check_keys(path: Path, where: str, row: dict[str, Any], kind: type) -> None:
    known = {field.name: field for field in fields(kind)}
    for key in row:
        if key not in known:
            raise _unknown(path, f"{where}.{key}", key, list(known))
    for name, field in known.items():
        if field.default is MISSING and name not in row:
            raise _problem(path, f"{where}.{name}", "missing", _mend(name))


def _row_problem(path: Path, where: str, error: ErrorDetails) -> FileProblem:
    cause = error.get("ctx", {}).get("error")
    if isinstance(cause, ImpossibleLabel):
        return _problem(path, f"{where}.{cause.field}", cause.found, cause.mend)
    parts = [str(part) for part in error["loc"]]
    field = parts[-1] if parts else "row"
    found = f"{error['input']!r} cannot be used"
    return _problem(path, ".".join([where, *parts]), found, _mend(field))


def _mend(field: str) -> str:
    for ending, mend in _MEND_BY_UNIT.items():
        if field.endswith(ending):
            return mend
    return "say it in words, as labelled"


def _unknown(path: Path, field: str, key: str, known: list[str]) -> FileProblem:
    near = get_close_matches(key, known, n=1)
    mend = f"perhaps {near[0]} is meant" if near else f"known keys are {', '.join(known)}"
    return _problem(path, field, "unknown key", mend)


def _problem(path: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(path, Problem(field=field, found=found, mend=mend))
