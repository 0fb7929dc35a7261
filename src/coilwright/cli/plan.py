"""`coilwright plan`: a case file in, its map, picture and plan out."""

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole
from coilwright.errors import FileProblem, Problem
from coilwright.veins.sides import Side

if TYPE_CHECKING:  # only named here: the engine is imported where it is used
    from coilwright.workflow.planned_case import PlannedCase


def plan(
    case: Annotated[Path, typer.Argument(metavar="CASE.toml", help="The case file.")],
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the plan goes.")],
    overlay: Annotated[
        Path | None,
        typer.Option("--overlay", metavar="SITE.toml", help="The site's own limits."),
    ] = None,
    shelf: Annotated[
        Path | None,
        typer.Option("--shelf", metavar="RECORD", help="Count what this record's shelf holds."),
    ] = None,
    side: Annotated[
        Side | None,
        typer.Option("--side", help="Which side to plan, where the case is of both."),
    ] = None,
) -> None:
    """Plan a case: assess it, measure its run, and work out levels and coils."""
    # The engine takes seconds to import; the command line must answer at once.
    from coilwright.workflow.plan_case import plan_case  # noqa: PLC0415 - see above
    from coilwright.workflow.plan_folder import outputs  # noqa: PLC0415 - see above

    with clear_ending(), folder_for(out):
        planned = plan_case(
            case,
            today=dt.date.today(),
            overlay=overlay,
            shelf=shelf,
            side=side,
            progress=_say_progress,
        )
        written = {out / name: content for name, content in outputs(planned).items()}
        write_whole(written)
    for path in written:
        typer.echo(f"wrote {path}")
    say_plan(planned)


@contextmanager
def folder_for(out: Path) -> Iterator[None]:
    """The folder ``out``, made where it is missing, and taken away again if the work fails."""
    missing = [folder for folder in (out, *out.parents) if not folder.exists()]
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        problem = Problem(
            field="--out",
            found=(error.strerror or "cannot be made").lower(),
            mend="name a folder that can be made and written to",
        )
        raise FileProblem(out, problem) from error
    try:
        yield
    except BaseException:
        for folder in missing:
            # Ours alone, and only while nobody else has put anything into it.
            if not any(folder.iterdir()):
                folder.rmdir()
        raise


def say_plan(planned: "PlannedCase") -> None:
    """Levels, first choices and open cautions, in the words of page and report."""
    from coilwright.documents import case_page, level_line, pull_line  # noqa: PLC0415 - see plan()

    page = case_page(
        planned.case, planned.vein_map, planned.plan, planned.pull_list, planned.protocol
    )
    typer.echo(f"{page.title}; side: {page.head.side}; {page.draft}")
    typer.echo(f"  scale: {page.scale}")
    for notice in page.notices:
        typer.echo(f"  warning: {notice}")
    for row in page.levels:
        typer.echo(f"  {level_line(row)}")
    if page.no_levels:
        typer.echo(f"  {page.no_levels}")
    typer.echo(f"  {pull_line(page.pull_list)}")
    for caution in (*page.stops, *page.cautions):
        typer.echo(f"  {caution.urgency.lower()} ({caution.rule}): {caution.text}")
    typer.echo(page.disclaimer)


def _say_progress(step: str) -> None:
    typer.echo(f"{step} ...")
