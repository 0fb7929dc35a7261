"""The program `coilwright`: one command a file, joined here."""

import os

import typer

from coilwright.cli.assess import assess
from coilwright.cli.backup import backup
from coilwright.cli.compare import compare
from coilwright.cli.demo import demo
from coilwright.cli.fits import fits
from coilwright.cli.measure import measure
from coilwright.cli.pathways import pathways
from coilwright.cli.plan import plan
from coilwright.cli.report import report
from coilwright.cli.restore import restore
from coilwright.cli.serve import serve
from coilwright.cli.shelf import shelf
from coilwright.cli.user import user
from coilwright.cli.verify import verify


def one_thread_for_small_matrices() -> None:
    """Keep the linear algebra to one thread, unless the environment says otherwise.

    The engine's matrices are small: threads wait for one another ten times longer than they work.
    It is read when numpy is imported, which no command does before it runs.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


app = typer.Typer(
    callback=one_thread_for_small_matrices,
    help="Measure, plan and record the closure of refluxing gonadal veins.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
ABOUT_A_CASE = (assess, measure, compare, pathways, plan, report, fits, serve, demo)
ABOUT_THE_RECORD = (verify, backup, restore)
for command in ABOUT_A_CASE + ABOUT_THE_RECORD:
    app.command()(command)
app.add_typer(shelf, name="shelf")
app.add_typer(user, name="user")
