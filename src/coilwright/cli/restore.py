"""`coilwright restore`: a record made again from a backup, where none is."""

from pathlib import Path
from typing import Annotated

import typer

from coilwright.cli.ending import clear_ending
from coilwright.cli.record_words import counted

Place = Annotated[
    str,
    typer.Argument(
        metavar="RECORD",
        help="A new file, or postgresql+psycopg://HOST/NAME of a database that holds no record.",
    ),
]


def restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="What coilwright backup wrote.")],
    record: Place,
) -> None:
    """Make the record of a backup again; it is proven before it appears."""
    from coilwright.store import restore_record  # noqa: PLC0415 - takes time to import

    with clear_ending():
        made = restore_record(file, record)
    size = counted(streams=len(made.heads), entries=made.entries)
    typer.echo(f"restored: {size}, as they were at {made.made_at:%Y-%m-%d %H:%M} UTC, proven.")
    typer.echo(f"manifest {made.sha256}")
