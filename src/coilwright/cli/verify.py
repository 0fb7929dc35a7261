"""`coilwright verify`: the record read entry by entry, and the first broken one named."""

from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending
from coilwright.cli.record_words import counted, printable
from coilwright.errors import EXIT_MEND_INPUT

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.store import ClockStep, RecordFault

RecordPlace = Annotated[
    str,
    typer.Argument(metavar="RECORD", help="The record's file, or postgresql+psycopg://HOST/NAME."),
]


def verify(
    record: RecordPlace,
    backup: Annotated[
        Path | None,
        typer.Option("--backup", metavar="FILE", help="A backup to hold the record against."),
    ] = None,
) -> None:
    """Prove that no entry of the record was altered or removed; else say which, and exit with 2."""
    from coilwright.store import examine_record, open_record  # noqa: PLC0415 - takes time to import

    with clear_ending(), open_record(record) as store:
        check = examine_record(store, backup=backup)
        name = store.name
    for step in check.clock_steps:
        typer.echo(_of_clock(step))
    for fault in check.faults:
        typer.echo(_of_fault(fault))
    size = counted(streams=check.streams, entries=check.entries)
    if check.faults:
        typer.echo(f"{name}: {size}; BROKEN. Keep the file as it is, and restore a sound backup.")
        raise typer.Exit(EXIT_MEND_INPUT)
    beside = "" if backup is None else f", and holds all that {backup.name} holds"
    typer.echo(f"{name}: {size}; every entry is as it was written{beside}.")


def _of_fault(fault: "RecordFault") -> str:
    if fault.stream is None:
        return f"broken: {fault.what}"
    key = "" if fault.id is None else f" (id {fault.id})"
    return f"broken: stream {printable(fault.stream)}, entry {fault.seq}{key}: {fault.what}"


def _of_clock(step: "ClockStep") -> str:
    return (
        f"note: stream {printable(step.stream)}, entry {step.seq} (id {step.id}): by its own time "
        f"recorded {_span(step.back)} before the entry ahead of it; a clock was wrong, or it was "
        "sent late"
    )


def _span(span: timedelta) -> str:
    minutes, seconds = divmod(round(span.total_seconds()), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min {seconds} s"
