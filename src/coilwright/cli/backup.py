"""`coilwright backup`: the record of one moment in one file, taken while others write."""

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from coilwright.cli.ending import clear_ending
from coilwright.cli.record_words import counted
from coilwright.cli.verify import RecordPlace


def backup(
    record: RecordPlace,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The backup: a new file.")],
) -> None:
    """Back a record up while it is in use; the file is proven before it appears."""
    from coilwright.store import backup_record, open_record  # noqa: PLC0415 - takes time to import

    with clear_ending(), open_record(record) as store:
        made = backup_record(store, file, made_at=dt.datetime.now(dt.UTC))
    typer.echo(f"{file.name}: {counted(streams=len(made.heads), entries=made.entries)}, proven.")
    typer.echo(f"manifest {made.sha256}")
    typer.echo("Keep that line elsewhere: it shows whether the backup was replaced.")
