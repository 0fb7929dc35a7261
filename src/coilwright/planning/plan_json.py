"""The plan as JSON, and back."""

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from coilwright.errors import FileProblem, Problem
from coilwright.planning.plan import OcclusionPlan

FORMAT = "coilwright.plan"
VERSION = 1

_ADAPTER = TypeAdapter(OcclusionPlan)


def plan_to_json(plan: OcclusionPlan) -> str:
    """The plan as a JSON document; numbers are finite or null."""
    document = {"format": FORMAT, "version": VERSION}
    document |= _ADAPTER.dump_python(plan, mode="json")
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n"


def plan_from_json(text: str, file: Path) -> OcclusionPlan:
    """The plan in a JSON document; ``file`` is only named in errors.

    Raises
    ------
    FileProblem
        Not JSON, not a plan, an unknown version, or a field that does not fit.
    """
    document = _document(text, file)
    try:
        return _ADAPTER.validate_python(document)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "document"
        raise _problem(file, where, first["msg"], "plan again or mend the field") from error


def _document(text: str, file: Path) -> dict[str, Any]:
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}"
        raise _problem(file, where, "not JSON", "give a plan written by plan") from error
    if not isinstance(document, dict) or document.pop("format", None) != FORMAT:
        raise _problem(file, "format", "not a plan", f'give a file whose format is "{FORMAT}"')
    version = document.pop("version", None)
    if version != VERSION:
        mend = f"plan again (this program reads version {VERSION})"
        raise _problem(file, "version", f"version {version!r} is not known here", mend)
    return document


def _problem(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))
