"""The fold: entries of the shelf in, the shelf out.

Facts are worked through in the order in which they happened, whatever the order of recording; only
of two that happened at one instant the one recorded first goes first. Nothing that happened is
refused: a pack that was opened and never booked in is owed, not an error.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from uuid import UUID

from coilwright.record.case_fold import UnreadableEntry
from coilwright.record.entry import Entry
from coilwright.record.shelf import Batch, CaseUse, ReorderLevel, Shelf, Withdrawn
from coilwright.record.shelf_entry import shelf_fact
from coilwright.record.shelf_facts import (
    DeviceImplanted,
    DeviceOpened,
    DeviceReceived,
    DeviceReturned,
    DeviceWasted,
    EntryWithdrawn,
    PackFact,
    ReorderLevelSet,
    ShelfAdjusted,
    ShelfCounted,
    ShelfFact,
)
from coilwright.record.shelf_pack import Pack, pack_order

Told = tuple[Entry, ShelfFact]
ToldOfPack = tuple[Entry, PackFact]

# The total of each kind of fact, and whether it adds to the shelf or takes from it. What is
# implanted, or wasted in a case, left the shelf when it was opened.
_SIGNS: dict[type[PackFact], tuple[str, int]] = {
    DeviceReceived: ("received", 1),
    DeviceReturned: ("returned", 1),
    DeviceOpened: ("opened", -1),
    DeviceImplanted: ("implanted", 0),
    DeviceWasted: ("wasted_in_cases", 0),
}


def fold_shelf(entries: Iterable[Entry]) -> Shelf:
    """The shelf that the entries add up to; no entry at all is an empty shelf.

    An entry that comes twice counts once. A withdrawn entry does not count, whenever it was
    withdrawn; a withdrawal can itself be withdrawn by one that happened later.

    Raises
    ------
    UnreadableEntry
        An entry is not one of the shelf's, or two different ones carry the same id.
    """
    told = [(entry, shelf_fact(entry)) for entry in _as_happened(entries)]
    standing, gone = _standing_withdrawals(told)
    counting = [(entry, fact) for entry, fact in told if entry.id not in gone]
    by_pack = _by_pack(counting)
    packs = sorted(by_pack, key=pack_order)
    return Shelf(
        batches=tuple(_batch(pack, by_pack[pack]) for pack in packs),
        case_uses=tuple(use for pack in packs for use in _uses(by_pack[pack])),
        reorder_levels=_levels(counting),
        withdrawn=_withdrawn(told, standing),
    )


def _as_happened(entries: Iterable[Entry]) -> list[Entry]:
    """Each entry once, by the instant at which it happened and then by its place in the stream."""
    once: dict[UUID, Entry] = {}
    for entry in sorted(entries, key=lambda entry: (entry.at, entry.seq)):
        first = once.setdefault(entry.id, entry)
        if first is not entry and not _same_but_for_place(first, entry):
            raise UnreadableEntry(f"two different entries carry the id {entry.id}")
    return list(once.values())


def _same_but_for_place(one: Entry, other: Entry) -> bool:
    return one == replace(other, seq=one.seq, previous_hash=one.previous_hash, hash=one.hash)


def _standing_withdrawals(told: Sequence[Told]) -> tuple[set[UUID], set[UUID]]:
    """Ids of the withdrawals that stand, and of the entries that they name."""
    standing: set[UUID] = set()
    gone: set[UUID] = set()
    for entry, fact in reversed(told):  # the last word first
        if isinstance(fact, EntryWithdrawn) and entry.id not in gone:
            standing.add(entry.id)
            gone.add(fact.entry)
    return standing, gone


def _by_pack(told: Iterable[Told]) -> dict[Pack, list[ToldOfPack]]:
    found: defaultdict[Pack, list[ToldOfPack]] = defaultdict(list)
    for entry, fact in told:
        if not isinstance(fact, ReorderLevelSet | EntryWithdrawn):
            found[fact.pack].append((entry, fact))
    return found


def _batch(pack: Pack, told: Sequence[ToldOfPack]) -> Batch:
    """One batch; the balance runs along with its totals, and the two must agree in the end."""
    totals: Counter[str] = Counter()
    balance = 0
    counted_at: datetime | None = None
    despite = []
    for entry, fact in told:
        total, count, change = _booking(fact, balance)
        totals[total] += count
        balance += change
        if isinstance(fact, ShelfCounted):
            counted_at = entry.at
        if isinstance(fact, DeviceReceived) and fact.despite is not None:
            despite.append(fact.despite)
    return Batch(
        pack=pack,
        on_shelf=max(balance, 0),
        owed=max(-balance, 0),
        received=totals["received"],
        opened=totals["opened"],
        implanted=totals["implanted"],
        wasted=totals["wasted"],
        wasted_in_cases=totals["wasted_in_cases"],
        returned=totals["returned"],
        adjusted=totals["adjusted"],
        found=totals["found"],
        missing=totals["missing"],
        counted_at=counted_at,
        despite=tuple(despite),
        entries=tuple(entry.id for entry, _ in told),
    )


def _booking(fact: PackFact, balance: int) -> tuple[str, int, int]:
    """To which total a fact adds, how many, and how the balance of the shelf changes by it."""
    if isinstance(fact, ShelfCounted):
        above = fact.count - balance
        return ("found", above, above) if above >= 0 else ("missing", -above, above)
    if isinstance(fact, ShelfAdjusted):
        return "adjusted", fact.change, fact.change
    if isinstance(fact, DeviceWasted) and fact.case is None:
        return "wasted", fact.count, -fact.count
    total, sign = _SIGNS[type(fact)]
    return total, fact.count, sign * fact.count


def _uses(told: Sequence[ToldOfPack]) -> list[CaseUse]:
    """What each case took of one batch, cases in the order of their names."""
    counts: defaultdict[str, Counter[str]] = defaultdict(Counter)
    last: dict[tuple[str, str], datetime] = {}
    for entry, fact in told:
        if isinstance(fact, DeviceReceived | ShelfCounted | ShelfAdjusted) or fact.case is None:
            continue
        total, count, _ = _booking(fact, 0)
        counts[fact.case][total] += count
        last[fact.case, total] = entry.at
    return [
        CaseUse(
            case=case,
            pack=told[0][1].pack,
            opened=count["opened"],
            implanted=count["implanted"],
            wasted=count["wasted_in_cases"],
            returned=count["returned"],
            opened_at=last.get((case, "opened")),
            implanted_at=last.get((case, "implanted")),
        )
        for case, count in sorted(counts.items())
    ]


def _levels(told: Iterable[Told]) -> tuple[ReorderLevel, ...]:
    levels: dict[str, ReorderLevel] = {}
    for entry, fact in told:
        if isinstance(fact, ReorderLevelSet):
            before = levels[fact.di].entries if fact.di in levels else ()
            levels[fact.di] = ReorderLevel(
                di=fact.di, level=fact.level, entries=(*before, entry.id)
            )
    return tuple(levels[di] for di in sorted(levels))


def _withdrawn(told: Iterable[Told], standing: set[UUID]) -> tuple[Withdrawn, ...]:
    named: Mapping[UUID, Told] = {entry.id: (entry, fact) for entry, fact in told}
    return tuple(
        Withdrawn(
            entry=fact.entry,
            kind=named[fact.entry][0].kind if fact.entry in named else None,
            pack=_pack_in(named.get(fact.entry)),
            why=fact.why,
            by=entry.id,
            author=entry.author,
            at=entry.at,
            stands=entry.id in standing,
        )
        for entry, fact in named.values()
        if isinstance(fact, EntryWithdrawn)
    )


def _pack_in(told: Told | None) -> Pack | None:
    if told is None or isinstance(told[1], ReorderLevelSet | EntryWithdrawn):
        return None
    return told[1].pack
