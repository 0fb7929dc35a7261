"""The answer to "does it fit" as the published JSON document."""

import json
from typing import Any

from pydantic import TypeAdapter

from coilwright.kit.fits import FitAnswer

FORMAT = "coilwright.fits"
VERSION = 1
_ADAPTER = TypeAdapter(FitAnswer)


def fits_to_json(answer: FitAnswer) -> str:
    """The document, format and version first."""
    body: dict[str, Any] = _ADAPTER.dump_python(answer, mode="json")
    document = {"format": FORMAT, "version": VERSION} | body
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
