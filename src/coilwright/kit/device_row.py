"""One row of a kit, from a TOML table or a line of a CSV, as a typed device."""

from dataclasses import MISSING, fields
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails, to_json

from coilwright.errors import FileProblem, Problem
from coilwright.kit.device import Device, ImpossibleLabel, MrCondition, ValueSource
from coilwright.kit.kit import KINDS

_ADAPTERS = {kind: TypeAdapter(kind) for kind in KINDS.values()}
_PARTS: dict[str, type] = {"mr": MrCondition, "sources": ValueSource}
UNIT_WORDS = {
    "_fr": "French",
    "_inch": "inches",
    "_mm": "millimetres",
    "_cm": "centimetres",
    "_ml": "millilitres",
    "_percent": "per cent",
    "_t": "tesla",
}
_MEND_BY_FIELD = {
    "_count": "give a whole number",
    "expiry": "give a date such as 2028-06-30",
    "fibred": "say true or false",
    "delivery": "say pushable or detachable",
    "wall": "say regular or thin",
    "gauge": "give a whole number",
    "_end": "say soft or stiff",
    "mr": "give a list of { field_t, label }",
    "sources": "give a list of { value, read_at }",
    "price": "give one number in the department's own currency, or leave it out",
} | {unit: f"give a number in {words}" for unit, words in UNIT_WORDS.items()}


def device_from_row(path: Path, at: str, row: dict[str, Any], kind: type[Device]) -> Device:
    """The device in one row; ``at`` is put before a field to say where in the file it stands.

    Raises
    ------
    FileProblem
        An unknown key, a missing key that the kind cannot do without, or a value that cannot be
        used.
    """
    _check_keys(path, at, row, kind)
    for part, part_kind in _PARTS.items():
        for entry in row[part] if isinstance(row.get(part), list) else ():
            if isinstance(entry, dict):
                _check_keys(path, f"{at}{part}.", entry, part_kind)
    try:
        # Strict JSON takes names of an enum and dates as text, but no text for a number.
        text = to_json(row, fallback=str)
        return _ADAPTERS[kind].validate_json(text, strict=True)
    except ValidationError as error:
        raise _row_problem(path, at, error.errors()[0]) from error


def file_problem(path: Path, field: str, found: str, mend: str) -> FileProblem:
    """What is wrong at one place of a kit file."""
    return FileProblem(path, Problem(field=field, found=found, mend=mend))


def unknown_key(path: Path, at: str, key: str, known: list[str]) -> FileProblem:
    """A key or column that is not known: in another unit, misspelt, or none at all."""
    return file_problem(path, f"{at}{key}", "unknown key", mend_of_unknown(key, known))


def mend_of_unknown(key: str, known: list[str]) -> str:
    """What is probably meant by a name that is not known."""
    stem = key.rpartition("_")[0]
    in_other_units = [
        name
        for name in known
        if stem and name.rpartition("_")[0] == stem and f"_{name.rpartition('_')[2]}" in UNIT_WORDS
    ]
    if in_other_units:
        return f"that value is given as {' or '.join(in_other_units)}"
    near = get_close_matches(key, known, n=1)
    return f"perhaps {near[0]} is meant" if near else f"known keys are {', '.join(known)}"


def mend_of(field: str) -> str:
    """How to give the value of one field."""
    for ending, mend in _MEND_BY_FIELD.items():
        if field.endswith(ending):
            return mend
    return "say it in words, as labelled"


def _check_keys(path: Path, at: str, row: dict[str, Any], kind: type) -> None:
    known, needed = _keys_of(kind)
    for key in row:
        if key not in known:
            raise unknown_key(path, at, key, list(known))
    for name in needed:
        if name not in row:
            raise file_problem(path, f"{at}{name}", "missing", mend_of(name))


@cache
def _keys_of(kind: Any) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """All keys of a kind, and those that it cannot do without."""
    known = fields(kind)
    return (
        tuple(field.name for field in known),
        tuple(field.name for field in known if field.default is MISSING),
    )


def _row_problem(path: Path, at: str, error: ErrorDetails) -> FileProblem:
    cause = error.get("ctx", {}).get("error")
    if isinstance(cause, ImpossibleLabel):
        return file_problem(path, f"{at}{cause.field}", cause.found, cause.mend)
    parts = [str(part) for part in error["loc"]]
    field = parts[-1] if parts else "row"
    found = f"{error['input']!r} cannot be used"
    return file_problem(path, f"{at}{'.'.join(parts)}", found, mend_of(field))
