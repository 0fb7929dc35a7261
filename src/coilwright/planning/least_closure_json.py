"""The least closure as the published JSON document."""

import json

from pydantic import TypeAdapter

from coilwright.planning.least_closure import LeastClosure

FORMAT = "coilwright.least-closure"
VERSION = 1

_ADAPTER = TypeAdapter(LeastClosure)


def least_closure_to_json(answer: LeastClosure) -> str:
    """The answer as a JSON document; numbers are finite."""
    document = {"format": FORMAT, "version": VERSION}
    document |= _ADAPTER.dump_python(answer, mode="json")
    return json.dumps(document, allow_nan=False, ensure_ascii=False, indent=1) + "\n"
