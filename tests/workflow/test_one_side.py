"""A case of both sides is planned one side at a time, and no run's side is guessed."""

from pathlib import Path

import pytest

from coilwright.assessment import Patient
from coilwright.errors import FileProblem
from coilwright.record import Case, CaseRun
from coilwright.veins import Side
from coilwright.workflow.one_side import one_side

FILE = Path("case.toml")


def case_of(*sides: Side | None) -> Case:
    runs = tuple(CaseRun(file=Path(f"run{n}.dcm"), side=side) for n, side in enumerate(sides))
    return Case(id="c", patient=Patient(id="1", name="Invented"), runs=runs)


def test_each_side_keeps_its_own_runs() -> None:
    case = case_of(Side.LEFT, Side.RIGHT, Side.LEFT)
    left = one_side(case, Side.LEFT, FILE)
    right = one_side(case, Side.RIGHT, FILE)
    assert [run.file.name for run in left.runs] == ["run0.dcm", "run2.dcm"]
    assert [run.file.name for run in right.runs] == ["run1.dcm"]


def test_runs_of_both_sides_are_not_planned_in_one_go() -> None:
    with pytest.raises(FileProblem, match=r"^case\.toml: runs: runs of both sides are named; plan"):
        one_side(case_of(Side.LEFT, Side.RIGHT), None, FILE)


def test_one_side_or_none_stated_is_planned_as_it_is() -> None:
    for case in (case_of(Side.RIGHT, Side.RIGHT), case_of(None), case_of(Side.LEFT, None)):
        assert one_side(case, None, FILE) == case


def test_a_run_that_does_not_say_its_side_is_not_given_one() -> None:
    with pytest.raises(FileProblem, match=r"runs\[2\]\.side: the run does not say"):
        one_side(case_of(Side.LEFT, None), Side.LEFT, FILE)


def test_a_side_that_no_run_shows_is_told() -> None:
    with pytest.raises(FileProblem, match="no run shows the right side"):
        one_side(case_of(Side.LEFT), Side.RIGHT, FILE)
