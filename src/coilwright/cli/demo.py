"""`coilwright demo`: the invented case from DICOM run to report, then served."""

import datetime as dt
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from coilwright.cli.ending import clear_ending, write_whole
from coilwright.cli.plan import folder_for, say_plan
from coilwright.cli.serve import LOOPBACK, REPORT, show_until_stopped

WRITTEN = {
    "run.dcm": "the run, as the X-ray set would send it",
    "case.toml": "the case file, with the operator's marks",
    "kit.toml": "the kit",
    "shelf.csv": "the kit as a delivery, for coilwright shelf receive",
    "vein-map.json": "the measured veins",
    "map.png": "their picture",
    "plan.json": "the plan",
    "pull-list.json": "what to lay out for it",
    REPORT: "the report",
}


def demo(
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where everything goes.")
    ] = Path("demo-out"),
    port: Annotated[int, typer.Option("--port", min=0, max=65535, help="0 takes a free one.")] = 0,
    no_serve: Annotated[
        bool, typer.Option("--no-serve", help="Stop when the files are written.")
    ] = False,
) -> None:
    """Run the invented demo case from DICOM run to report, then show it until Ctrl-C."""
    with clear_ending():
        _run_case(out)
        for name, what in WRITTEN.items():
            typer.echo(f"  {out / name}  {what}")
        if not no_serve:
            typer.echo("\nThe case as a page:")
            show_until_stopped(out, host=LOOPBACK, port=port)


def _run_case(out: Path) -> None:
    """Run, case file, map, plan and report into ``out``, each step said and timed."""
    # The engine takes seconds to import; the command line must answer at once.
    from coilwright.demo import write_demo_case  # noqa: PLC0415 - see above
    from coilwright.workflow.plan_case import plan_case  # noqa: PLC0415 - see above
    from coilwright.workflow.plan_folder import outputs  # noqa: PLC0415 - see above
    from coilwright.workflow.report import report_pdf_of  # noqa: PLC0415 - see above

    typer.echo("The demo: patient, hospital and devices are invented.")
    with folder_for(out), _timed_steps() as step:
        case_file = write_demo_case(out, step)
        planned = plan_case(case_file, today=dt.date.today(), progress=step)
        step("writing the report")
        files = outputs(planned) | {REPORT: report_pdf_of(planned)}
        write_whole({out / name: content for name, content in files.items()})
    typer.echo()
    say_plan(planned)
    typer.echo()


class _Steps:
    """Says each step as it begins, and how long it took when the next one begins."""

    def __init__(self) -> None:
        self._began: float | None = None

    def __call__(self, step: str) -> None:
        self.end()
        typer.echo(f"{step} ...", nl=False)
        self._began = time.monotonic()

    def end(self) -> None:
        """Say how long the last step took."""
        if self._began is not None:
            typer.echo(f" {time.monotonic() - self._began:.1f} s")
        self._began = None


@contextmanager
def _timed_steps() -> Iterator[_Steps]:
    steps = _Steps()
    try:
        yield steps
    finally:
        steps.end()
