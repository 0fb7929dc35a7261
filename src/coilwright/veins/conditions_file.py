"""How several runs were injected (`coilwright.run-conditions`, 1): TOML, one table a run."""

import math
from collections.abc import Sequence
from pathlib import Path

from coilwright.errors import FileProblem, InputError, Problem
from coilwright.toml_file import read_toml
from coilwright.veins.checked_table import CheckedTable, require_head
from coilwright.veins.runs import Conditions

FORMAT = "coilwright.run-conditions"
VERSION = 1
HEAD_KEYS = ("format", "version", "runs")
# Possible values, so that a slip of the pen is caught: (least, most); no clinical limits.
VOLUME_ML = (0.1, 100.0)
RATE_ML_PER_S = (0.05, 30.0)
TILT_DEG = (-45.0, 90.0)


def conditions_in(table: CheckedTable) -> Conditions:
    """The conditions that a table states; what it leaves out stays unknown."""
    return Conditions(
        tip_site=table.text("tip_site", "a place") if table.has("tip_site") else None,
        volume_ml=table.maybe("volume_ml", VOLUME_ML, " mL"),
        rate_ml_per_s=table.maybe("rate_ml_per_s", RATE_ML_PER_S, " mL/s"),
        valsalva=table.flag("valsalva"),
        tilt_deg=table.maybe("tilt_deg", TILT_DEG, " degrees"),
        breath_phase=table.text("breath_phase", "words") if table.has("breath_phase") else None,
    )


class ImpossibleCondition(InputError):
    """A condition stated beside a run that no run can have; ``name`` is that of the option."""

    def __init__(self, name: str, value: float, between: tuple[float, float], unit: str) -> None:
        self.name, self.value, self.between, self.unit = name, value, between, unit
        super().__init__(name, value, between, unit)

    def __str__(self) -> str:
        low, high = self.between
        return (
            f"--{self.name}: {self.value:g} {self.unit} is impossible; give {low:g} to {high:g} "
            f"{self.unit}."
        )


def require_possible(conditions: Conditions) -> None:
    """Refuse what a slip of the pen has made of a condition.

    Raises
    ------
    ImpossibleCondition
        Names the first such option.
    """
    stated = (
        ("volume-ml", conditions.volume_ml, VOLUME_ML, "mL"),
        ("rate-ml-per-s", conditions.rate_ml_per_s, RATE_ML_PER_S, "mL/s"),
        ("tilt-deg", conditions.tilt_deg, TILT_DEG, "degrees"),
    )
    for name, value, between, unit in stated:
        if value is None:
            continue
        if not (math.isfinite(value) and between[0] <= value <= between[1]):
            raise ImpossibleCondition(name, value, between, unit)


def read_conditions(file: Path, runs: Sequence[Path]) -> dict[int, Conditions]:
    """The conditions that a file states, by the place of the run among ``runs``.

    Raises
    ------
    FileProblem
        Not readable, not such a file, a run that was not given or is named twice.
    """
    table = read_toml(file).table
    require_head(file, table, FORMAT, VERSION, HEAD_KEYS)
    items = table.get("runs", [])
    if not isinstance(items, list) or not items or not all(isinstance(i, dict) for i in items):
        raise _wrong(file, "runs", "no runs", "write each as a table headed [[runs]]")
    found: dict[int, Conditions] = {}
    for number, item in enumerate(items, start=1):
        one = CheckedTable(file, item, f"run {number}")
        place = _place(one, runs)
        if place in found:
            raise one.wrong("file", "the run is named twice", "leave one of them out")
        found[place] = conditions_in(one)
        one.done()
    return found


def _place(table: CheckedTable, runs: Sequence[Path]) -> int:
    name = table.text("file", "the run's file name")
    places = [place for place, run in enumerate(runs) if run.name == name or str(run) == name]
    if len(places) == 1:
        return places[0]
    if places:
        raise table.wrong("file", "several of the runs have that name", "name it with its folder")
    raise table.wrong("file", "none of the runs given", "name one of the runs, without its folder")


def _wrong(file: Path, field: str, found: str, mend: str) -> FileProblem:
    return FileProblem(file, Problem(field=field, found=found, mend=mend))
