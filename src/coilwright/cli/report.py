"""`coilwright report`: a planned case in, its report as PDF out."""

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole


def report(
    case: Annotated[Path, typer.Argument(metavar="CASE.toml", help="The case file.")],
    plan: Annotated[
        Path, typer.Option("--plan", metavar="DIR", help="The folder that plan wrote to.")
    ],
    out: Annotated[Path, typer.Option("--out", metavar="REPORT.pdf", help="Where it goes.")],
) -> None:
    """Write the procedure report of a planned case."""
    # The engine takes seconds to import; the command line must answer at once.
    from coilwright.workflow.plan_folder import load_planned  # noqa: PLC0415 - see above
    from coilwright.workflow.report import report_pdf_of  # noqa: PLC0415 - see above

    with clear_ending():
        typer.echo("reading the case and its plan ...")
        planned = load_planned(case, plan, today=dt.date.today())
        typer.echo("writing the report ...")
        write_whole({out: report_pdf_of(planned)})
    typer.echo(f"wrote {out} (a draft until it is signed)")
