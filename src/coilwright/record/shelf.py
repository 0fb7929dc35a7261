"""The shelf: what its entries add up to."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from coilwright.record.shelf_facts import Despite
from coilwright.record.shelf_pack import Pack


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """Equal packs, in numbers of packs, all 0 or more but ``adjusted``.

    ``on_shelf`` is what should lie there; where more was taken than booked in it is 0, and the
    surplus is ``owed`` until a delivery or a count settles it. ``wasted`` went off the shelf
    unopened, ``wasted_in_cases`` after opening. ``found`` and ``missing`` are what counts of the
    shelf showed above and below the books. ``counted_at`` is the last such count; ``despite`` what
    was gone over at receipt. ``entries`` are those that count, in the order in which they happened.

    For every batch: received + returned + adjusted + found - missing = on_shelf - owed + opened +
    wasted, and on_shelf or owed is 0.
    """

    pack: Pack
    on_shelf: int
    owed: int
    received: int
    opened: int
    implanted: int
    wasted: int
    wasted_in_cases: int
    returned: int
    adjusted: int
    found: int
    missing: int
    counted_at: datetime | None
    despite: tuple[Despite, ...]
    entries: tuple[UUID, ...]

    def __post_init__(self) -> None:
        booked_in = self.received + self.returned + self.adjusted + self.found - self.missing
        left = booked_in - self.opened - self.wasted
        if (self.on_shelf, self.owed) != (max(left, 0), max(-left, 0)):
            raise ValueError(f"the batch {self.pack} does not add up")

    @property
    def notice(self) -> str | None:
        """What the count does not show of itself, in words; null where there is nothing."""
        if self.owed:
            return f"{self.owed} more taken than booked in: count the shelf"
        if self.pack.serial is not None and self.on_shelf > 1:
            return f"{self.on_shelf} booked in with one serial number: count the shelf"
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseUse:
    """What one case took of one batch, in packs, and when it last opened and implanted some."""

    case: str
    pack: Pack
    opened: int
    implanted: int
    wasted: int
    returned: int
    opened_at: datetime | None
    implanted_at: datetime | None

    @property
    def unaccounted(self) -> int:
        """Packs opened whose end is not recorded; below 0, ends of packs never opened."""
        return self.opened - self.implanted - self.wasted - self.returned


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderLevel:
    """The count of usable packs at which a device is to be ordered, as last set.

    ``entries`` are all that set it, the one that counts last.
    """

    di: str
    level: int
    entries: tuple[UUID, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawn:
    """One withdrawal: the entry that it names, and what that entry was.

    ``kind`` is null where the record holds no such entry (yet), ``pack`` where that entry names no
    pack. A withdrawal that was itself withdrawn later does not stand: its entry counts again.
    """

    entry: UUID
    kind: str | None
    pack: Pack | None
    why: str
    by: UUID
    author: str
    at: datetime
    stands: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """Batches and case uses in the order of their packs, levels by device, withdrawals by time."""

    batches: tuple[Batch, ...] = ()
    case_uses: tuple[CaseUse, ...] = ()
    reorder_levels: tuple[ReorderLevel, ...] = ()
    withdrawn: tuple[Withdrawn, ...] = ()


def batches_by_di(shelf: Shelf) -> dict[str, tuple[Batch, ...]]:
    """Each device's batches; made once for many look-ups."""
    found: defaultdict[str, list[Batch]] = defaultdict(list)
    for batch in shelf.batches:
        found[batch.pack.di].append(batch)
    return {di: tuple(batches) for di, batches in found.items()}
