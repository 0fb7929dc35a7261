"""The folded shelf as the published JSON document."""

import json
from typing import Any

from pydantic import TypeAdapter

from coilwright.record.shelf import Shelf

FORMAT = "coilwright.shelf"
VERSION = 1
_ADAPTER = TypeAdapter(Shelf)


def shelf_to_json(shelf: Shelf) -> str:
    """The document, format and version first."""
    body: dict[str, Any] = _ADAPTER.dump_python(shelf, mode="json")
    document = {"format": FORMAT, "version": VERSION} | body
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
