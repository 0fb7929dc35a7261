"""The truth as JSON, and back."""

import json

from pydantic import TypeAdapter

from coilwright.phantom.truth import Truth

FORMAT = "coilwright.phantom-truth"
VERSION = 1

_ADAPTER = TypeAdapter(Truth)


def truth_to_json(truth: Truth) -> str:
    """The truth as a JSON document; every number is finite."""
    document = {"format": FORMAT, "version": VERSION} | _ADAPTER.dump_python(truth, mode="json")
    return json.dumps(document, allow_nan=False) + "\n"


def truth_from_json(text: str) -> Truth:
    """The truth in a JSON document.

    Raises
    ------
    ValueError
        Not JSON, another format, an unknown version, or a field that does not fit.
    """
    document = json.loads(text)
    if not isinstance(document, dict) or document.pop("format", None) != FORMAT:
        raise ValueError(f'not a phantom truth: its format is not "{FORMAT}"')
    version = document.pop("version", None)
    if version != VERSION:
        raise ValueError(f"phantom truth of version {version!r}; this program reads {VERSION}")
    return _ADAPTER.validate_python(document)
