"""Facts of the shelf as entries of its stream, and back."""

from datetime import datetime
from typing import cast
from uuid import UUID

from coilwright.record.entry import Entry
from coilwright.record.entry_payload import UnreadableEntry, payload_of, read_payload
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
    shape = SHELF_KINDS.get(entry.kind)
    if shape is None:
        raise UnreadableEntry(f"the shelf has no entries of the kind {entry.kind}")
    return cast(ShelfFact, read_payload(shape, entry.payload, id=entry.id, kind=entry.kind))
