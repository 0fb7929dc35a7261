"""The pull-list as the published JSON document, and back."""

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from coilwright.errors import FileProblem, Problem
from coilwright.planning.pull_lines import PullList

FORMAT = "coilwright.pull-list"
VERSION = 1
_ADAPTER = TypeAdapter(PullList)


def pull_list_to_json(listed: PullList) -> str:
    """The document, format and version first."""
    body: dict[str, Any] = _ADAPTER.dump_python(listed, mode="json")
    document = {"format": FORMAT, "version": VERSION} | body
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def pull_list_from_json(text: str, file: Path) -> PullList:
    """The pull-list in a JSON document; ``file`` is only named in errors.

    Raises
    ------
    FileProblem
        Not JSON, not a pull-list, an unknown version, or a field that does not fit.
    """
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        raise _problem(file, f"line {error.lineno}", "not JSON") from error
    if not isinstance(document, dict) or document.pop("format", None) != FORMAT:
        raise _problem(file, "format", "not a pull-list")
    if (version := document.pop("version", None)) != VERSION:
        raise _problem(file, "version", f"version {version!r} is not known here")
    try:
        return _ADAPTER.validate_python(document)
    except ValidationError as error:
        where = ".".join(str(part) for part in error.errors()[0]["loc"]) or "document"
        raise _problem(file, where, "cannot be read") from error


def _problem(file: Path, field: str, found: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend="run coilwright plan again"))
