"""What is to be ordered: devices whose usable packs are down to their level."""

from dataclasses import dataclass
from datetime import date

from coilwright.record.shelf import Shelf, batches_by_di
from coilwright.record.shelf_expiry import usable_batches


@dataclass(frozen=True, slots=True, kw_only=True)
class ToReorder:
    """A device at or below its level, in packs.

    ``usable`` counts what is not known to be expired; ``undated`` of these state no expiry.
    ``owed`` were taken beyond what was booked in: the count may be wrong by so many.
    """

    di: str
    usable: int
    undated: int
    owed: int
    level: int


def to_reorder(shelf: Shelf, on: date) -> tuple[ToReorder, ...]:
    """Devices with as many usable packs on that day as their level, or fewer.

    The level is the count at which to order, not the count to keep above: at level 2, two packs
    left are to be ordered for, and at level 0 the last one has gone. A device that was never
    received counts 0.
    """
    batches = batches_by_di(shelf)
    needs = []
    for level in shelf.reorder_levels:
        of_device = batches.get(level.di, ())
        usable = usable_batches(of_device, on)
        need = ToReorder(
            di=level.di,
            usable=sum(batch.on_shelf for batch in usable),
            undated=sum(batch.on_shelf for batch in usable if batch.pack.expiry is None),
            owed=sum(batch.owed for batch in of_device),
            level=level.level,
        )
        if need.usable <= need.level:
            needs.append(need)
    return tuple(needs)
