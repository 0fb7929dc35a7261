"""`coilwright assess`: a case file in, is treatment indicated and is it safe out."""

import datetime as dt
import shutil
from pathlib import Path
from typing import Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole
from coilwright.errors import FileProblem, Problem

WIDEST = 110
NARROWEST = 60


def assess(
    case: Annotated[Path, typer.Argument(metavar="CASE.toml", help="The case file.")],
    json: Annotated[
        Path | None, typer.Option("--json", metavar="OUT.json", help="Write it as JSON too.")
    ] = None,
    overlay: Annotated[
        Path | None,
        typer.Option("--overlay", metavar="SITE.toml", help="The site's own limits."),
    ] = None,
) -> None:
    """Assess a case: is treatment indicated, what must not be missed, which ceilings hold."""
    # The engine takes seconds to import; the command line must answer at once.
    from coilwright.assessment import assessment_to_json  # noqa: PLC0415 - see above
    from coilwright.documents import assessment_lines  # noqa: PLC0415 - see above
    from coilwright.workflow.assess_case import assess_case  # noqa: PLC0415 - see above

    with clear_ending():
        if json is not None:
            _refuse_own_input(json, (case, overlay))
        assessment = assess_case(case, today=dt.date.today(), overlay=overlay)
        if json is not None:
            write_whole({json: assessment_to_json(assessment).encode()})
    columns = shutil.get_terminal_size().columns
    for line in assessment_lines(assessment, width=min(max(columns, NARROWEST), WIDEST)):
        typer.echo(line)
    if json is not None:
        typer.echo(f"wrote {json}")


def _refuse_own_input(out: Path, inputs: tuple[Path | None, ...]) -> None:
    """An assessment never takes the place of the case or the limits that it is made from."""
    for file in inputs:
        if file is not None and out.resolve() == file.resolve():
            problem = Problem(
                field="--json", found="it is a file that is read here", mend="name another file"
            )
            raise FileProblem(out, problem)
