"""The catalogue with the shelf's own counts, lots and expiries."""

from collections.abc import Sequence
from dataclasses import fields, replace
from datetime import date
from typing import Any

from coilwright.kit import Device, Kit, ValueSource
from coilwright.record.shelf import Batch, Shelf, batches_by_di
from coilwright.record.shelf_expiry import usable_batches

READ_AT_SHELF = "the record of the shelf"
_FROM_SHELF = {
    name: ValueSource(value=name, read_at=READ_AT_SHELF)
    for name in ("shelf_count", "lot", "expiry")
}


def stocked_kit(kit: Kit, shelf: Shelf, on: date) -> Kit:
    """The kit with each device's usable packs on that day, and the first of them to expire.

    A device is found on the shelf by ``udi_di``. What the catalogue itself says of count, lot and
    expiry is not used: a device without ``udi_di``, or not on the shelf, has a count of 0. Packs
    that state no expiry are not known to be expired: they count, and are named last. What was taken
    beyond what was booked in of one batch may have come from another: it is taken off the count.

    Raises
    ------
    ImpossibleLabel
        More packs of one device than a shelf can hold.

    References
    ----------
    First to expire, first to be used: common practice, no source.
    """
    batches = batches_by_di(shelf)
    tables: dict[str, Any] = {
        field.name: tuple(
            _stocked(device, batches.get(device.udi_di or "", ()), on)
            for device in getattr(kit, field.name)
        )
        for field in fields(kit)
    }
    return Kit(**tables)


def _stocked(device: Device, batches: Sequence[Batch], on: date) -> Device:
    usable = usable_batches(batches, on)
    owed = sum(batch.owed for batch in batches)
    first = usable[0].pack if usable else None
    stock = {
        "shelf_count": max(sum(batch.on_shelf for batch in usable) - owed, 0),
        "lot": None if first is None else first.lot,
        "expiry": None if first is None else first.expiry,
    }
    return replace(device, **stock, sources=_sources(device, stock))  # type: ignore[arg-type]  # each under its own name


def _sources(device: Device, stock: dict[str, Any]) -> tuple[ValueSource, ...]:
    """Where the label's values were read, and that the stock comes from the shelf."""
    own = (source for source in device.sources if source.value not in _FROM_SHELF)
    read = (source for name, source in _FROM_SHELF.items() if stock[name] is not None)
    return (*own, *read)
