"""The vein map as JSON, and back."""

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from coilwright.errors import FileProblem, Problem
from coilwright.veins.vein_map import VeinMap

FORMAT = "coilwright.vein-map"
VERSION = 1

_ADAPTER = TypeAdapter(VeinMap)


def vein_map_to_json(vein_map: VeinMap) -> str:
    """The map as a JSON document; numbers are finite or null."""
    document = {"format": FORMAT, "version": VERSION}
    document |= _ADAPTER.dump_python(vein_map, mode="json")
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n"


def vein_map_from_json(text: str, file: Path) -> VeinMap:
    """The map in a JSON document; ``file`` is only named in errors.

    Raises
    ------
    FileProblem
        Not JSON, not a vein map, an unknown version, or a field that does not fit.
    """
    document = _document(text, file)
    try:
        return _ADAPTER.validate_python(document)
    except ValidationError as error:
        first = error.errors()[0]
        where = ".".join(str(part) for part in first["loc"]) or "document"
        problem = Problem(
            field=where, found=first["msg"], mend="measure the run again or mend the field"
        )
        raise FileProblem(file, problem) from error


def _document(text: str, file: Path) -> dict[str, Any]:
    try:
        document = json.loads(text)
    except json.JSONDecodeError as error:
        problem = Problem(
            field=f"line {error.lineno}", found="not JSON", mend="give a map written by measure"
        )
        raise FileProblem(file, problem) from error
    if not isinstance(document, dict) or document.pop("format", None) != FORMAT:
        problem = Problem(
            field="format", found="not a vein map", mend=f'give a file whose format is "{FORMAT}"'
        )
        raise FileProblem(file, problem)
    version = document.pop("version", None)
    if version != VERSION:
        problem = Problem(
            field="version",
            found=f"version {version!r} is not known here",
            mend=f"measure the run again (this program reads version {VERSION})",
        )
        raise FileProblem(file, problem)
    return document
