"""A TOML file, read; what is wrong with it is told with the file, the place and the mend."""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from coilwright.errors import FileProblem, Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class TomlFile:
    """The text as it stands, and the table that it holds."""

    text: str
    table: dict[str, Any]


def read_toml(file: Path) -> TomlFile:
    """The file's text and table.

    Raises
    ------
    FileProblem
        It cannot be read, is not UTF-8, or is not TOML.
    """
    text = _text_of(file)
    try:
        return TomlFile(text=text, table=tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise FileProblem(file, _syntax_problem(str(error))) from error
    except (ValueError, RecursionError) as error:
        # tomllib lets a number of thousands of digits and endless nesting through to Python.
        problem = Problem(field="file", found="not valid TOML", mend="shorten the number or list")
        raise FileProblem(file, problem) from error


def _text_of(file: Path) -> str:
    """UTF-8, with or without the mark that some editors put in front."""
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        problem = Problem(field="file", found="not UTF-8 text", mend="save it as UTF-8")
        raise FileProblem(file, problem) from error
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        problem = Problem(field="file", found=found, mend="give a TOML file that can be read")
        raise FileProblem(file, problem) from error


def _syntax_problem(message: str) -> Problem:
    what, _, place = message.partition(" (at ")
    return Problem(
        field=place.rstrip(")") or "file",
        found=f"not valid TOML ({what[:1].lower()}{what[1:]})",
        mend="mend the line",
    )
