"""Facts of the shelf as entries of its stream, and back."""

from datetime import datetime
from functools import cache
from typing import Any, cast
from uuid import UUID

from pydantic import ConfigDict, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails, to_json

from coilwright.kit import ImpossibleLabel
from coilwright.record.case_fold import UnreadableEntry, payload_of
from coilwright.record.entry import Entry
from coilwright.record.shelf_facts import (
    DeviceImplanted,
    DeviceOpened,
    DeviceReceived,
    DeviceReturned,
    DeviceWasted,
    EntryWithdrawn,
    ReorderLevelSet,
    ShelfAdjusted,
    ShelfCounted,
    ShelfFact,
)

SHELF = "shelf"
SHELF_KINDS: dict[str, type[ShelfFact]] = {
    "device_received": DeviceReceived,
    "device_opened": DeviceOpened,
    "device_implanted": DeviceImplanted,
    "device_wasted": DeviceWasted,
    "device_returned": DeviceReturned,
    "shelf_counted": ShelfCounted,
    "shelf_adjusted": ShelfAdjusted,
    "reorder_level_set": ReorderLevelSet,
    "entry_withdrawn": EntryWithdrawn,
}
_KIND_OF = {shape: kind for kind, shape in SHELF_KINDS.items()}


def shelf_entry(
    fact: ShelfFact, *, id: UUID, at: datetime, recorded_at: datetime, author: str
) -> Entry:
    """A draft of the entry that holds the fact; its place in the stream is given when kept."""
    return Entry(
        id=id,
        stream=SHELF,
        seq=0,
        at=at,
        recorded_at=recorded_at,
        author=author,
        kind=_KIND_OF[type(fact)],
        payload=payload_of(fact),
    )


def shelf_fact(entry: Entry) -> ShelfFact:
    """The fact that an entry holds.

    Raises
    ------
    UnreadableEntry
        Its kind is not one of the shelf's, or its payload is not what that kind holds; a payload
        with a field more is refused too, since leaving it out might change the meaning.
    """
    shape: Any = SHELF_KINDS.get(entry.kind)
    if shape is None:
        raise UnreadableEntry(f"the shelf has no entries of the kind {entry.kind}")
    try:
        # Strict JSON takes dates and ids as text, but no text or truth value for a number.
        (fact,) = _adapter(shape).validate_json(to_json([entry.payload]), strict=True)
    except ValidationError as error:
        found = _found(error.errors()[0])
        raise UnreadableEntry(f"entry {entry.id} ({entry.kind}): {found}") from error
    return cast(ShelfFact, fact)


def _found(error: ErrorDetails) -> str:
    cause = error.get("ctx", {}).get("error")
    if isinstance(cause, ImpossibleLabel):
        return str(cause)
    return f"{'.'.join(map(str, error['loc'][1:])) or 'payload'}: {error['msg'].lower()}"


@cache
def _adapter(shape: Any) -> TypeAdapter[Any]:
    # In a tuple, since an adapter of a bare dataclass takes no configuration.
    return TypeAdapter(tuple[shape], config=ConfigDict(extra="forbid"))
