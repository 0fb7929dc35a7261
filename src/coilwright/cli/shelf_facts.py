"""`coilwright shelf open`, `implant`, ...: what happened to a pack, one command a fact."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated
from uuid import UUID

import typer

from coilwright.cli.ending import clear_ending
from coilwright.cli.shelf_options import (
    At,
    By,
    Case,
    Count,
    OptionProblem,
    Recalls,
    Record,
    Scans,
    booker_of,
    judged_by,
)

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from pathlib import Path

    from coilwright.record import Pack, ShelfFact

Reason = Annotated[str, typer.Option("--reason", metavar="WORDS", help="Why.")]


def open_pack(
    record: Record,
    scans: Scans,
    by: By,
    case: Case,
    count: Count = 1,
    recalls: Recalls = None,
    at: At = None,
) -> None:
    """Book a pack as opened for a case; what stops for thought is told, the entry stands."""
    from coilwright.record import DeviceOpened  # noqa: PLC0415 - takes time to import

    _book(record, scans, by, at, recalls, lambda p: DeviceOpened(pack=p, count=count, case=case))


def implant(
    record: Record, scans: Scans, by: By, case: Case, count: Count = 1, at: At = None
) -> None:
    """Book an opened pack as left in the patient."""
    from coilwright.record import DeviceImplanted  # noqa: PLC0415 - takes time to import

    _book(record, scans, by, at, None, lambda p: DeviceImplanted(pack=p, count=count, case=case))


def waste(
    record: Record,
    scans: Scans,
    by: By,
    reason: Reason,
    case: Annotated[
        str | None,
        typer.Option("--case", metavar="ID", help="The case; without one, off the shelf."),
    ] = None,
    count: Count = 1,
    at: At = None,
) -> None:
    """Book a pack as wasted: in a case after it was opened, or off the shelf."""
    from coilwright.record import DeviceWasted  # noqa: PLC0415 - takes time to import

    _book(
        record,
        scans,
        by,
        at,
        None,
        lambda pack: DeviceWasted(pack=pack, count=count, reason=reason, case=case),
    )


def return_pack(
    record: Record, scans: Scans, by: By, case: Case, count: Count = 1, at: At = None
) -> None:
    """Book a pack that a case did not use as back on the shelf."""
    from coilwright.record import DeviceReturned  # noqa: PLC0415 - takes time to import

    _book(record, scans, by, at, None, lambda p: DeviceReturned(pack=p, count=count, case=case))


def count_packs(
    record: Record,
    scans: Scans,
    by: By,
    found: Annotated[int, typer.Option("--found", min=0, help="How many lie on the shelf.")],
    at: At = None,
) -> None:
    """Book how many packs of a batch lie on the shelf."""
    from coilwright.record import ShelfCounted  # noqa: PLC0415 - takes time to import

    _book(record, scans, by, at, None, lambda pack: ShelfCounted(pack=pack, count=found))


def adjust(
    record: Record,
    scans: Scans,
    by: By,
    reason: Reason,
    change: Annotated[int, typer.Option("--change", help="How many more, or fewer: -2.")],
    at: At = None,
) -> None:
    """Book more or fewer packs, for a reason that nothing else covers."""
    from coilwright.record import ShelfAdjusted  # noqa: PLC0415 - takes time to import

    _book(
        record,
        scans,
        by,
        at,
        None,
        lambda pack: ShelfAdjusted(pack=pack, change=change, reason=reason),
    )


def level(
    record: Record,
    device: Annotated[
        str, typer.Argument(metavar="DI", help="The device identifier, as the code states it.")
    ],
    count: Annotated[int, typer.Argument(metavar="COUNT", min=0, help="Order at this count.")],
    by: By,
    at: At = None,
) -> None:
    """Set the count of usable packs at which a device is to be ordered."""
    from coilwright.record import ReorderLevelSet  # noqa: PLC0415 - takes time to import

    _book_fact(record, by, at, lambda: ReorderLevelSet(di=device.strip(), level=count))


def withdraw(
    record: Record,
    entry: Annotated[str, typer.Argument(metavar="ENTRY", help="The entry that is not so.")],
    by: By,
    why: Annotated[str, typer.Option("--why", metavar="WORDS", help="Why it is not so.")],
    at: At = None,
) -> None:
    """Withdraw an entry: it stays in the record and no longer counts."""
    from coilwright.record import EntryWithdrawn  # noqa: PLC0415 - takes time to import

    _book_fact(record, by, at, lambda: EntryWithdrawn(entry=_entry_id(entry), why=why))


FACTS: dict[str, Callable[..., None]] = {
    "open": open_pack,
    "implant": implant,
    "waste": waste,
    "return": return_pack,
    "count": count_packs,
    "adjust": adjust,
    "level": level,
    "withdraw": withdraw,
}


def _book(
    record: "Path",
    scans: list[str],
    by: str,
    at: str | None,
    recalls: "Path | None",
    happened: "Callable[[Pack], ShelfFact]",
) -> None:
    from coilwright.cli.shelf_words import booked_lines  # noqa: PLC0415 - takes time to import
    from coilwright.store import open_record  # noqa: PLC0415 - the same
    from coilwright.workflow.shelf_booking import book_scan  # noqa: PLC0415 - the same

    with clear_ending():
        judged, booker = judged_by(recalls), booker_of(by, at)
        with open_record(record) as store:
            booked = book_scan(store, scans, happened, judged, booker)
    for line in booked_lines(booked, str):
        typer.echo(line)


def _book_fact(
    record: "Path", by: str, at: str | None, happened: "Callable[[], ShelfFact]"
) -> None:
    from coilwright.cli.shelf_words import booked_lines  # noqa: PLC0415 - takes time to import
    from coilwright.store import open_record  # noqa: PLC0415 - the same
    from coilwright.workflow.shelf_booking import book, possible  # noqa: PLC0415 - the same

    with clear_ending():
        booker, fact = booker_of(by, at), possible(happened)
        with open_record(record) as store:
            booked = book(store, fact, booker)
    for line in booked_lines(booked, str):
        typer.echo(line)


def _entry_id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise OptionProblem("ENTRY", f"{text!r} is no entry", "copy it from the list") from error
