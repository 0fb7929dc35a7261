"""A fact as the payload of an entry, and back: strictly, as nothing may be guessed or dropped."""

from functools import cache
from typing import Any
from uuid import UUID

from pydantic import ConfigDict, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails, to_json

from coilwright.kit import ImpossibleLabel
from coilwright.record.entry import Payload


class UnreadableEntry(ValueError):
    """An entry is of a kind that its stream does not know, or does not hold what its kind holds."""


def payload_of(value: object) -> dict[str, Any]:
    """A fact as plain JSON values."""
    shape: Any = type(value)
    payload: dict[str, Any] = _adapter(shape).dump_python((value,), mode="json")[0]
    return payload


def read_payload(shape: type, payload: Payload, *, id: UUID, kind: str) -> object:
    """The fact of that shape which a payload holds.

    Raises
    ------
    UnreadableEntry
        A field is missing, of another type, or not one of the shape's: leaving it out might change
        the meaning. The sentence names the entry, the field and what was found, no text of it.
    """
    adapter: Any = _adapter(shape)
    try:
        # Strict JSON takes dates and ids as text, but no text or truth value for a number.
        (fact,) = adapter.validate_json(to_json([payload]), strict=True)
    except ValidationError as error:
        found = _found(error.errors()[0])
        raise UnreadableEntry(f"entry {id} ({kind}): {found}") from error
    return fact


def _found(error: ErrorDetails) -> str:
    cause = error.get("ctx", {}).get("error")
    if isinstance(cause, ImpossibleLabel):
        return str(cause)
    return f"{'.'.join(map(str, error['loc'][1:])) or 'payload'}: {error['msg'].lower()}"


@cache
def _adapter(shape: Any) -> TypeAdapter[Any]:
    # In a tuple, since an adapter of a bare dataclass takes no configuration.
    return TypeAdapter(tuple[shape], config=ConfigDict(extra="forbid"))
