"""`coilwright shelf`: what arrives, what lies there, and what the next list will miss."""

import datetime as dt
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending, leave_imports_alone, write_whole
from coilwright.cli.shelf_facts import FACTS
from coilwright.cli.shelf_options import (
    At,
    By,
    Count,
    KitFile,
    OptionProblem,
    Recalls,
    Record,
    booker_of,
    judged_by,
    one_of,
)
from coilwright.errors import EXIT_MEND_INPUT, FileProblem, InputError, Problem

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.cli.shelf_words import Named
    from coilwright.planning import OcclusionPlan
    from coilwright.store import RecordStore
    from coilwright.workflow.shelf_booking import Booked, Booker, Receiving

MOST_PHOTO_BYTES = 50_000_000

shelf = typer.Typer(
    help="The shelf: receive, open, implant, waste, return, count; list it and check it.",
    no_args_is_help=True,
)
OptionalKit = Annotated[
    Path | None, typer.Argument(metavar="[KIT]", help="The kit, for the devices' names.")
]
Json = Annotated[
    Path | None, typer.Option("--json", metavar="OUT.json", help="Write it as JSON too.")
]


@shelf.command()
def begin(record: Record) -> None:
    """Begin an empty record; one that is there is left alone."""
    from coilwright.store import open_record  # noqa: PLC0415 - takes time to import

    with clear_ending():
        if record.exists():
            raise _problem(record, "RECORD", "there already", "name a file that is not there")
        open_record(record, create=True).close()
    typer.echo(f"began {record}")


@shelf.command()
def receive(
    record: Record,
    kit: KitFile,
    by: By,
    scans: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[SCAN ...]",
            help="The code or codes of one pack. Without any, a pack a line is read from the "
            "keyboard, two codes of one pack parted by a tab, until an empty line.",
        ),
    ] = None,
    count: Count = 1,
    photo: Annotated[
        Path | None, typer.Option("--photo", metavar="PICTURE", help="A photograph of one pack.")
    ] = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="LIST.csv", help="A list (docs/shelf-csv.md).")
    ] = None,
    recalls: Recalls = None,
    despite: Annotated[
        str | None,
        typer.Option("--despite", metavar="REASON", help="Book what stops for thought; say why."),
    ] = None,
    at: At = None,
) -> None:
    """Book packs in: by scanner, from a photograph, or from a list."""
    from coilwright.cli.shelf_words import named_by  # noqa: PLC0415 - takes time to import
    from coilwright.kit import load_kit  # noqa: PLC0415 - the same
    from coilwright.store import open_record  # noqa: PLC0415 - the same
    from coilwright.workflow.shelf_booking import Receiving  # noqa: PLC0415 - the same

    with clear_ending():
        one_of(SCAN=scans, photo=photo, csv=csv)
        if despite is not None and not despite.strip():
            raise OptionProblem("--despite", "empty", "say why it is booked all the same")
        if csv is not None and count != 1:
            raise OptionProblem("--count", "given with --csv", "write the counts into the list")
        catalogue, booker = load_kit(kit), booker_of(by, at)
        receiving = Receiving(kit=catalogue, judged_by=judged_by(recalls), despite=despite)
        named = named_by(catalogue)
        with open_record(record) as store:
            if csv is not None:
                _say(_receive_list(store, csv, receiving, booker), named)
                return
            codes = scans or (None if photo is None else _codes_in(photo))
            if codes is not None:
                _say([_receive_scan(store, codes, count, receiving, booker)], named)
                return
            refused = _receive_lines(store, count, receiving, booker, named)
    if refused:
        typer.echo(f"{refused} {'line' if refused == 1 else 'lines'} not booked", err=True)
        raise typer.Exit(EXIT_MEND_INPUT)


@shelf.command("list")
def list_shelf(
    record: Record,
    kit: OptionalKit = None,
    json: Json = None,
    csv: Annotated[
        Path | None, typer.Option("--csv", metavar="OUT.csv", help="Write it as a list too.")
    ] = None,
) -> None:
    """List what the record says lies on the shelf, was used, or was withdrawn."""
    from coilwright.cli.shelf_words import named_by, shelf_lines  # noqa: PLC0415 - takes time
    from coilwright.kit import load_kit  # noqa: PLC0415 - the same
    from coilwright.record import shelf_to_csv, shelf_to_json  # noqa: PLC0415 - the same
    from coilwright.store import open_record  # noqa: PLC0415 - the same
    from coilwright.workflow.shelf_booking import shelf_of  # noqa: PLC0415 - the same

    leave_imports_alone()
    with clear_ending():
        _refuse_inputs((json, csv), (record, kit))
        catalogue = None if kit is None else load_kit(kit)
        with open_record(record) as store:
            folded = shelf_of(store)
        written = {}
        if json is not None:
            written[json] = shelf_to_json(folded).encode()
        if csv is not None:
            written[csv] = shelf_to_csv(folded).encode()
        write_whole(written)
    for line in shelf_lines(folded, named_by(catalogue)):
        typer.echo(line)
    for path in written:
        typer.echo(f"wrote {path}")


@shelf.command()
def check(
    record: Record,
    kit: KitFile,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DAY", help="As of that day; else today.")
    ] = None,
    next_list: Annotated[
        str | None,
        typer.Option("--next-list", metavar="DAY", help="What expires before it is told."),
    ] = None,
    plan: Annotated[
        Path | None,
        typer.Option("--plan", metavar="PLAN.json", help="The plan, for its pull-list."),
    ] = None,
    case: Annotated[
        str | None, typer.Option("--case", metavar="ID", help="The case to sign out.")
    ] = None,
    recalls: Recalls = None,
    overlay: Annotated[
        Path | None,
        typer.Option("--overlay", metavar="SITE.toml", help="The site's own limits."),
    ] = None,
    json: Json = None,
) -> None:
    """Check the shelf: expired, short, recalled, and what a plan needs that is not there."""
    from coilwright.cli.shelf_words import named_by, review_lines  # noqa: PLC0415 - takes time
    from coilwright.kit import load_kit, load_recalls  # noqa: PLC0415 - the same
    from coilwright.protocol import load_protocol  # noqa: PLC0415 - the same
    from coilwright.record import SHELF  # noqa: PLC0415 - the same
    from coilwright.store import open_record  # noqa: PLC0415 - the same
    from coilwright.workflow.shelf_review import (  # noqa: PLC0415 - the same
        Asked,
        review_shelf,
        review_to_json,
    )

    leave_imports_alone()
    with clear_ending():
        _refuse_inputs((json,), (record, kit, plan, recalls, overlay))
        asked = Asked(
            on=_day("--on", on) or dt.date.today(),
            next_list=_day("--next-list", next_list),
            recalls=None if recalls is None else load_recalls(recalls),
            case=case,
            plan=None if plan is None else _plan_in(plan),
        )
        catalogue, protocol = load_kit(kit), load_protocol(overlay)
        with open_record(record) as store:
            review = review_shelf(store.entries(SHELF), catalogue, protocol, asked)
        if json is not None:
            write_whole({json: review_to_json(review).encode()})
    for line in review_lines(review, named_by(catalogue)):
        typer.echo(line)
    if json is not None:
        typer.echo(f"wrote {json}")


for name, command in FACTS.items():
    shelf.command(name)(command)


def _receive_scan(
    store: "RecordStore", codes: Sequence[str], count: int, receiving: "Receiving", booker: "Booker"
) -> "Booked":
    from coilwright.workflow.shelf_booking import receive_scan  # noqa: PLC0415 - takes time

    return receive_scan(store, codes, count, receiving, booker)


def _receive_list(
    store: "RecordStore", file: Path, receiving: "Receiving", booker: "Booker"
) -> Sequence["Booked"]:
    from coilwright.csv_file import read_csv_text  # noqa: PLC0415 - takes time to import
    from coilwright.workflow.shelf_booking import receive_list  # noqa: PLC0415 - the same

    return receive_list(store, file, read_csv_text(file), receiving, booker)


def _receive_lines(
    store: "RecordStore", count: int, receiving: "Receiving", booker: "Booker", named: "Named"
) -> int:
    """Each line by itself: one that is refused is told and does not undo the others."""
    refused = 0
    for number, line in enumerate(sys.stdin, start=1):
        codes = [code for code in line.rstrip("\r\n").split("\t") if code.strip()]
        if not codes:
            break
        try:
            _say([_receive_scan(store, codes, count, receiving, booker)], named)
        except InputError as error:
            refused += 1
            typer.echo(f"line {number}: {error}", err=True)
    return refused


def _codes_in(photo: Path) -> tuple[str, ...]:
    from coilwright.kit.udi_photo import scans_in_photo  # noqa: PLC0415 - takes time to import

    try:
        if photo.stat().st_size > MOST_PHOTO_BYTES:
            found = f"more than {MOST_PHOTO_BYTES // 1_000_000} MB"
            raise _problem(photo, "--photo", found, "give a smaller picture")
        return scans_in_photo(photo.read_bytes())
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        raise _problem(photo, "--photo", found, "give a picture that can be read") from error


def _plan_in(file: Path) -> "OcclusionPlan":
    from coilwright.workflow.plan_document import read_plan_document  # noqa: PLC0415 - takes time

    try:
        text = file.read_text(encoding="utf-8", errors="replace")
    except OSError as error:
        found = (error.strerror or "cannot be read").lower()
        raise _problem(file, "--plan", found, "name the plan.json of coilwright plan") from error
    return read_plan_document(text, file).plan


def _say(booked: Sequence["Booked"], named: "Named") -> None:
    from coilwright.cli.shelf_words import booked_lines  # noqa: PLC0415 - takes time to import

    for one in booked:
        for line in booked_lines(one, named):
            typer.echo(line)


def _day(option: str, text: str | None) -> dt.date | None:
    if text is None:
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError as error:
        raise OptionProblem(option, f"{text!r} is no day", "write it as 2026-11-30") from error


def _refuse_inputs(outs: Sequence[Path | None], inputs: Sequence[Path | None]) -> None:
    """Nothing that is written takes the place of what is read here."""
    read = {file.resolve() for file in inputs if file is not None}
    for out in outs:
        if out is not None and out.resolve() in read:
            raise _problem(out, "output", "it is a file that is read here", "name another file")


def _problem(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))
