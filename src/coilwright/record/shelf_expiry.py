"""Which batches may still be used, and which run out before the next list."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from coilwright.record.shelf import Batch, Shelf
from coilwright.record.shelf_pack import pack_order


@dataclass(frozen=True, slots=True, kw_only=True)
class Expiring:
    """Batches on the shelf: ``before`` the day, soonest first; ``undated`` state no expiry.

    An expiry that is not stated is not known to be later: read the pack.
    """

    before: tuple[Batch, ...]
    undated: tuple[Batch, ...]


def expires_before(shelf: Shelf, day: date) -> Expiring:
    """What cannot be used any more on ``day``, the day of the next list; expired ones with it."""
    on_shelf = [batch for batch in shelf.batches if batch.on_shelf]
    return Expiring(
        before=soonest_first(
            batch for batch in on_shelf if batch.pack.expiry is not None and batch.pack.expiry < day
        ),
        undated=tuple(batch for batch in on_shelf if batch.pack.expiry is None),
    )


def usable_batches(batches: Iterable[Batch], on: date) -> tuple[Batch, ...]:
    """On the shelf and not known to be expired on that day, first to expire first."""
    return soonest_first(
        batch
        for batch in batches
        if batch.on_shelf and (batch.pack.expiry is None or on <= batch.pack.expiry)
    )


def soonest_first(batches: Iterable[Batch]) -> tuple[Batch, ...]:
    """By their last day; those that state none come last."""
    return tuple(sorted(batches, key=lambda b: (b.pack.expiry or date.max, *pack_order(b.pack))))
