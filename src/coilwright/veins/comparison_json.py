"""The comparison as JSON."""

import json

from pydantic import TypeAdapter

from coilwright.veins.comparison import Comparison

FORMAT = "coilwright.comparison"
VERSION = 1

_ADAPTER = TypeAdapter(Comparison)


def comparison_to_json(comparison: Comparison) -> str:
    """The comparison as a JSON document; numbers are finite or null."""
    document = {"format": FORMAT, "version": VERSION}
    document |= _ADAPTER.dump_python(comparison, mode="json")
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n"
