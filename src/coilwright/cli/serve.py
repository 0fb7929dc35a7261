"""`coilwright serve`: a planned case shown as pages, on this machine alone."""

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending
from coilwright.errors import FileProblem, Problem

if TYPE_CHECKING:  # only named here: the engine is imported where it is used
    from coilwright.web import ShownCase

LOOPBACK = "127.0.0.1"
CASE, REPORT = "case.toml", "report.pdf"
DOWNLOADS = ("vein-map.json", "map.png", "plan.json", REPORT)


def serve(
    folder: Annotated[
        Path,
        typer.Argument(metavar="DIR", help="Holds case.toml and what plan and report wrote."),
    ],
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="0 takes a free one.")
    ] = 8000,
    host: Annotated[
        str, typer.Option("--host", help="A loopback address; no other is listened on.")
    ] = LOOPBACK,
) -> None:
    """Show a planned case as pages until Ctrl-C; only this machine can reach them."""
    with clear_ending():
        show_until_stopped(folder, host=host, port=port)


def show_until_stopped(folder: Path, *, host: str, port: int) -> None:
    """Serve the case of ``folder`` and say where; return on Ctrl-C.

    Raises
    ------
    InputError
        The address is refused, a file is missing, or the files do not belong together.
    """
    # The engine takes seconds to import; the command line must answer at once.
    from coilwright.web import case_app, open_loopback, serve_until_stopped  # noqa: PLC0415 - see above

    with open_loopback(host, port) as sock:
        app = case_app(_shown(folder))
        serve_until_stopped(app, sock, lambda address: typer.echo(f"{address}  (Ctrl-C stops)"))


def _shown(folder: Path) -> "ShownCase":
    from coilwright.web import shown_case  # noqa: PLC0415 - see show_until_stopped
    from coilwright.workflow.plan_folder import load_planned  # noqa: PLC0415 - see show_until_stopped

    case_file = folder / CASE
    _require(case_file, "name the folder that holds the case file and its plan")
    planned = load_planned(case_file, folder, today=dt.date.today())
    _require(folder / REPORT, "run coilwright report first")
    files = {name: folder / name for name in DOWNLOADS}
    return shown_case(planned, {n: f.read_bytes() for n, f in files.items() if f.is_file()})


def _require(file: Path, mend: str) -> None:
    if not file.is_file():
        raise FileProblem(file, Problem(field="file", found="not there", mend=mend))
