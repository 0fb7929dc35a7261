"""The program `coilwright`: one command a file, joined here."""

import typer

from coilwright.cli.assess import assess
from coilwright.cli.compare import compare
from coilwright.cli.demo import demo
from coilwright.cli.measure import measure
from coilwright.cli.plan import plan
from coilwright.cli.report import report
from coilwright.cli.serve import serve

app = typer.Typer(
    help="Measure, plan and record the closure of refluxing gonadal veins.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
for command in (assess, measure, compare, plan, report, serve, demo):
    app.command()(command)
