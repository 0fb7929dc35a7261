"""What happens to the shelf, booked: one scan or a list in, entries kept."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import TypeVar
from uuid import uuid4

from coilwright.advice import Advisory
from coilwright.errors import InputError
from coilwright.kit import ImpossibleLabel, Kit, Recall, Udi, check_udi, read_udi
from coilwright.record import (
    SHELF,
    Despite,
    DeviceOpened,
    DeviceReceived,
    Entry,
    Pack,
    Shelf,
    ShelfFact,
    check_receipt,
    fold_shelf,
    pack_of,
    packs_from_csv,
    shelf_entry,
    stops,
    udi_of,
    used_devices,
)
from coilwright.store import RecordStore

Fact = TypeVar("Fact", bound=ShelfFact)


@dataclass(frozen=True, slots=True, kw_only=True)
class Booker:
    """Who books, when it happened, and when it is written down."""

    author: str
    at: datetime
    recorded_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Booked:
    """What was booked, with what was said of it and what its batch's books do not show."""

    entry: Entry
    fact: ShelfFact
    advisories: tuple[Advisory, ...] = ()
    notice: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A pack that was not booked, and what stopped for thought."""

    pack: Pack
    advisories: tuple[Advisory, ...]


class NotBooked(InputError):
    """Something stops for thought, and no reason to go on was given: nothing was booked."""

    def __init__(self, refused: Sequence[Refused]) -> None:
        self.refused = tuple(refused)
        super().__init__(self.refused)

    def __str__(self) -> str:
        lines = [
            f"{one.pack}: stop and think ({stop.rule}): {stop.text} [{stop.source}]"
            for one in self.refused
            for stop in stops(one.advisories)
        ]
        return "\n".join((*lines, "Nothing was booked; to book it all the same say why."))


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What a scan is checked against on that day."""

    today: date
    recalls: tuple[Recall, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Receiving:
    """What arrivals are checked against; ``despite`` is the reason to go over what stops."""

    kit: Kit
    judged_by: Judged
    despite: str | None = None


class NotPossible(InputError):
    """What was said cannot have happened so; nothing was booked."""

    def __init__(self, cause: ImpossibleLabel) -> None:
        self.cause = cause
        super().__init__(cause)

    def __str__(self) -> str:
        return f"{self.cause}. Nothing was booked."


def possible(happened: Callable[[], Fact]) -> Fact:
    """The fact, or the sentence that says why there can be none.

    Raises
    ------
    NotPossible
        A count, a reason or an identifier that cannot be.
    """
    try:
        return happened()
    except ImpossibleLabel as error:
        raise NotPossible(error) from error


def shelf_of(store: RecordStore) -> Shelf:
    """The shelf as the record adds it up now."""
    return fold_shelf(store.entries(SHELF))


def receive_scan(
    store: RecordStore, scans: Sequence[str], count: int, receiving: Receiving, booker: Booker
) -> Booked:
    """One pack (the codes of one pack) booked in ``count`` times.

    Raises
    ------
    ScanProblem
        The scan is not one whole code.
    NotBooked
        It stops for thought, and ``receiving.despite`` gives no reason.
    """
    udi = read_udi(*scans, today=receiving.judged_by.today)
    return _receive(store, [(udi, count, udi.raw)], receiving, booker)[0]


def receive_list(
    store: RecordStore, file: Path, text: str, receiving: Receiving, booker: Booker
) -> tuple[Booked, ...]:
    """Every line of a CSV booked in, or none of them.

    Raises
    ------
    FileProblem
        A line cannot be used.
    NotBooked
        A line stops for thought, and ``receiving.despite`` gives no reason.
    """
    packs = packs_from_csv(text, file)
    arrivals = [(udi_of(pack), count, None) for pack, count in packs]
    return _receive(store, arrivals, receiving, booker)


def book_scan(
    store: RecordStore,
    scans: Sequence[str],
    happened: Callable[[Pack], ShelfFact],
    judged_by: Judged,
    booker: Booker,
) -> Booked:
    """What happened to one scanned pack: kept as it is, since it happened, with what stops.

    Raises
    ------
    ScanProblem
        The scan is not one whole code.
    NotPossible
        It cannot have happened so: a reason that is empty, two packs of one serial number.
    """
    udi = read_udi(*scans, today=judged_by.today)
    shelf = shelf_of(store)
    fact = possible(lambda: happened(pack_of(udi)))
    used = used_devices(shelf) if isinstance(fact, DeviceOpened) else ()
    said = check_udi(udi, today=judged_by.today, used=used, recalls=judged_by.recalls)
    return replace(book(store, fact, booker), advisories=said)


def book(store: RecordStore, fact: ShelfFact, booker: Booker) -> Booked:
    """Any fact of the shelf, kept; with what the books of its batch do not show after it."""
    (entry,) = store.append([_draft(fact, booker)])
    pack = getattr(fact, "pack", None)
    of_pack = (batch for batch in shelf_of(store).batches if batch.pack == pack)
    return Booked(entry=entry, fact=fact, notice=next((b.notice for b in of_pack), None))


def _receive(
    store: RecordStore,
    arrivals: Sequence[tuple[Udi, int, str | None]],
    receiving: Receiving,
    booker: Booker,
) -> tuple[Booked, ...]:
    shelf, by = shelf_of(store), receiving.judged_by
    judged = [
        (udi, count, scan, check_receipt(udi, shelf, receiving.kit, by.recalls, by.today))
        for udi, count, scan in arrivals
    ]
    _refuse_twins(arrivals)
    refused = [
        Refused(pack=pack_of(udi), advisories=said) for udi, _, _, said in judged if stops(said)
    ]
    if refused and receiving.despite is None:
        raise NotBooked(refused)
    facts = [
        (possible(partial(_received, udi, count, scan, said, receiving.despite)), said)
        for udi, count, scan, said in judged
    ]
    entries = store.append([_draft(fact, booker) for fact, _ in facts])
    return tuple(
        Booked(entry=entry, fact=fact, advisories=said)
        for entry, (fact, said) in zip(entries, facts, strict=True)
    )


def _refuse_twins(arrivals: Sequence[tuple[Udi, int, str | None]]) -> None:
    """One serial number twice in one delivery is one device written twice."""
    serials = Counter((udi.di, udi.serial.casefold()) for udi, _, _ in arrivals if udi.serial)
    twice = next((serial for (_, serial), count in serials.items() if count > 1), None)
    if twice is not None:
        label = ImpossibleLabel("serial", f"{twice} stands twice", "write each device once")
        raise NotPossible(label)


def _received(
    udi: Udi, count: int, scan: str | None, said: Sequence[Advisory], despite: str | None
) -> DeviceReceived:
    stopping = tuple(dict.fromkeys(stop.rule for stop in stops(said)))
    gone_over = Despite(reason=despite, rules=stopping) if stopping and despite else None
    return DeviceReceived(pack=pack_of(udi), count=count, scan=scan, despite=gone_over)


def _draft(fact: ShelfFact, booker: Booker) -> Entry:
    return shelf_entry(
        fact, id=uuid4(), at=booker.at, recorded_at=booker.recorded_at, author=booker.author
    )
