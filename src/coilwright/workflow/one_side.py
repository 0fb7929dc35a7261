"""A case of both sides, one side at a time: each has its own runs, map and plan."""

from dataclasses import replace
from pathlib import Path

from coilwright.errors import FileProblem, Problem
from coilwright.record import Case
from coilwright.veins import Side


def one_side(case: Case, side: Side | None, case_file: Path) -> Case:
    """The case with the runs of one side alone; no side asked for: with all of them.

    Raises
    ------
    FileProblem
        Runs of both sides and no side asked for; or a side is asked for, and a run does not say
        which it shows, or none shows that side.
    """
    stated = {run.side for run in case.runs}
    if side is None:
        if {Side.LEFT, Side.RIGHT} <= stated:
            found = "runs of both sides are named"
            mend = "plan one side at a time: --side left, --side right, each into its own folder"
            raise _problem(case_file, "runs", found, mend)
        return case
    for number, run in enumerate(case.runs, start=1):
        if run.side is None:
            found = "the run does not say which side it shows, and that is not guessed"
            raise _problem(case_file, f"runs[{number}].side", found, "write left or right")
    if case.runs and side not in stated:
        found = f"no run shows the {side.value} side"
        raise _problem(case_file, "runs", found, f'name a run with side = "{side.value}"')
    return replace(case, runs=tuple(run for run in case.runs if run.side is side))


def _problem(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))
