"""A TOML file of limits read into rows; what is wrong is told with the file, key and line."""

import re
from difflib import get_close_matches
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from coilwright.errors import FileProblem, Problem
from coilwright.toml_file import read_toml

Rows = TypeVar("Rows", bound=BaseModel)
_SHOWN_CHARACTERS = 60


def read_rows(file: Path, shape: type[Rows]) -> Rows:
    """The file's rows, checked.

    Raises
    ------
    FileProblem
        It cannot be read, is not TOML, or holds a key or value that cannot be used.
    """
    toml = read_toml(file)
    try:
        return shape.model_validate(toml.table)
    except ValidationError as error:
        raise FileProblem(file, _row_problem(error.errors()[0], toml.text, shape)) from error


def place_of(text: str, key: str) -> str:
    """The dotted key, with its line where the file writes the table as ``[a.b]``."""
    table, _, last = key.rpartition(".")
    line_of_table = None
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.strip()
        if bare.startswith("["):
            inside = bare.split("]")[0].strip("[ ")
            if inside == key:
                return f"{key} (line {number})"
            line_of_table = number if inside == table else None
        elif line_of_table and re.match(rf"{re.escape(last)}\s*=", bare):
            return f"{key} (line {number})"
    return key


def _row_problem(error: ErrorDetails, text: str, shape: type[BaseModel]) -> Problem:
    key = ".".join(str(part) for part in error["loc"] if part != "[key]")
    field = place_of(text, key)
    kind = error["type"]
    if kind == "extra_forbidden":
        return Problem(field=field, found="unknown key", mend=_near_key(error, shape))
    if kind == "missing":
        where = place_of(text, key.rpartition(".")[0])
        return Problem(
            field=where, found=f"{key.rpartition('.')[2]} is missing", mend="add the key"
        )
    if kind == "value_error":
        found, _, mend = error["msg"].removeprefix("Value error, ").partition(": ")
        return Problem(field=field, found=found, mend=mend or "add what is missing")
    return Problem(
        field=field,
        found=f"{_shown(error['input'])} cannot be used",
        mend=f"the {error['msg'][:1].lower()}{error['msg'][1:]}".replace("the input", "it"),
    )


def _shown(value: object) -> str:
    try:
        text = repr(value)
    except ValueError:  # a whole number of thousands of digits
        return "a number too long to show"
    return text if len(text) <= _SHOWN_CHARACTERS else f"{text[:_SHOWN_CHARACTERS]}..."


def _near_key(error: ErrorDetails, shape: type[BaseModel]) -> str:
    known = _keys_at(shape, len(error["loc"]), str(error["loc"][0]))
    near = get_close_matches(str(error["loc"][-1]), known, n=1)
    return f"perhaps {near[0]} is meant" if near else f"known keys are {', '.join(known)}"


def _keys_at(shape: type[BaseModel], depth: int, top: str) -> list[str]:
    if depth == 1:
        return list(shape.model_fields)
    row = shape.model_fields[top].annotation
    return list(row.__args__[1].model_fields)  # type: ignore[union-attr]  # dict[Id, Row]
