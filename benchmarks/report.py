"""The whole table: `make accuracy`. Writes `docs/benchmarks.md` and `docs/stated-sd.png`.

    .venv/bin/python benchmarks/report.py [--seed 8000] [--count 8] [--out docs] [--no-timing]

Every level's runs are rendered, measured and scored (`accuracy.py`, `structure.py`); the stated
standard deviation of the trunk's calibre is set beside the error by tenths of its own size; and
the whole command is timed beside the textbook pipeline (`measure.py`).
"""

import argparse
import datetime
import os
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import matplotlib as mpl
import numpy as np
import numpy.typing as npt
from accuracy import Score, score
from matplotlib.figure import Figure
from measure import Duel, duel

from coilwright.phantom import Level

Array = npt.NDArray[np.float64]
Scores = dict[Level, list[Score]]

TENTHS = 10
# What the table shows: words, the score's field, factor, unit, and what is aimed at on each level.
ROWS = (
    ("true trunk within 1 mm of the measured one", "coverage", 100.0, "%", ("99", "99", "97")),
    ("calibre of the trunk, own scale", "diameter_mae_mm", 1.0, "mm", ("0.05", "0.07", "0.15")),
    ("the same with the true scale", "true_scale_mae_mm", 1.0, "mm", ("", "", "")),
    (
        "scale, where the catheter lies in the vein",
        "scale_error",
        100.0,
        "%",
        ("0.5 (1.5)", "0.8 (2)", "1.5 (4)"),
    ),
    (
        "errors within two stated standard deviations",
        "within_two_sd",
        100.0,
        "%",
        ("90 to 99", "90 to 99", "85 to 99"),
    ),
    ("side veins and duplicates found", "sides_found", 100.0, "%", ("100", "98", "80")),
    ("centreline that is no vein", "no_vein", 100.0, "%", ("1", "3", "10")),
    ("found vessels of the right kind", "kinds_right", 100.0, "%", ("", "", "")),
    ("joins at the right place", "joins_right", 100.0, "%", ("", "", "")),
    ("tip of the catheter", "tip_error_mm", 1.0, "mm", ("", "", "")),
    ("mouth into the renal vein", "ostium_error_mm", 1.0, "mm", ("", "", "")),
    ("arrival of contrast", "arrival_error_s", 1.0, "s", ("", "", "")),
    ("time for one run, two at once", "seconds", 1.0, "s", ("", "", "")),
)
WORDS = {Level.STILL: "still", Level.BREATHING: "breathing"}
HIGH_IS_GOOD = {"coverage", "within_two_sd", "sides_found", "kinds_right", "joins_right"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tenth:
    """Points whose stated standard deviations are alike: the stated one and the one that was."""

    stated_mm: float
    was_mm: float


def tenths(errors_mm: Array, stated_mm: Array) -> list[Tenth]:
    """Points in ten equal groups by what was stated; each group's root mean squares."""
    groups = np.array_split(np.argsort(stated_mm), TENTHS)
    return [
        Tenth(
            stated_mm=float(np.sqrt((stated_mm[group] ** 2).mean())),
            was_mm=float(np.sqrt((errors_mm[group] ** 2).mean())),
        )
        for group in groups
        if len(group)
    ]


def _points(scores: Sequence[Score]) -> tuple[Array, Array]:
    return (
        np.concatenate([np.array(s.errors_mm) for s in scores if not s.failed] or [np.empty(0)]),
        np.concatenate([np.array(s.stated_mm) for s in scores if not s.failed] or [np.empty(0)]),
    )


def draw_tenths(scores: Scores, file: Path) -> None:
    """Stated standard deviation against the error that was, by tenths, on each level."""
    with mpl.rc_context({"font.size": 10}):
        figure = Figure(figsize=(6.2, 5.2), layout="constrained")
        axes = figure.subplots()
        for level, marker in zip(scores, "osD", strict=False):
            found = tenths(*_points(scores[level]))
            stated, was = ([getattr(t, name) for t in found] for name in ("stated_mm", "was_mm"))
            axes.plot(stated, was, marker, label=level.value, markersize=6)
        low, high = 0.01, 1.0
        line = np.array([low, high])
        axes.plot(line, line, color="0.3", linewidth=1.0, label="error as stated")
        axes.fill_between(line, line / 2, line * 2, color="0.9", label="within a factor of two")
        axes.set(
            xscale="log",
            yscale="log",
            xlim=(low, high),
            ylim=(low, high),
            xlabel="stated standard deviation of the calibre, mm (tenths of the trunk's points)",
            ylabel="root mean square of the error, mm",
        )
        axes.legend(frameon=False)
        figure.savefig(file, dpi=110)


def _cell(scores: Sequence[Score], field: str, factor: float, unit: str) -> str:
    values = np.abs([getattr(s, field) for s in scores if not s.failed]) * factor
    known = values[np.isfinite(values)]
    if not known.size:
        return "none"
    worst = known.min() if field in HIGH_IS_GOOD else known.max()
    digits = 3 if unit == "mm" and known.mean() < 1.0 else 2 if unit == "s" else 1
    return f"{known.mean():.{digits}f} {unit} ({worst:.{digits}f})"


def table(scores: Scores) -> str:
    """The accuracy table in Markdown: mean (worst) [aimed at]."""
    levels = list(scores)
    head = ["quantity, mean (worst) [aim]", *(f"{v.value}, {len(scores[v])} runs" for v in levels)]
    lines = [" | ".join(head), "|".join(["---"] * len(head))]
    for words, field, factor, unit, aims in ROWS:
        cells = [
            _cell(scores[level], field, factor, unit) + (f" [{aim}]" if aim else "")
            for level, aim in zip(Level, aims, strict=True)
            if level in scores
        ]
        lines.append(" | ".join([words, *cells]))
    return "\n".join(f"| {line} |" for line in lines)


def _timing(found: Duel) -> str:
    return (
        f"| | time | peak memory | calibre of the trunk, mean error |\n|---|---|---|---|\n"
        f"| `coilwright measure` | {found.ours_s:.1f} s | {found.ours_gib:.2f} GiB "
        f"| {found.ours_error_mm:.3f} mm |\n"
        f"| textbook pipeline | {found.textbook_s:.1f} s | {found.textbook_gib:.2f} GiB "
        f"| {found.textbook_error_mm:.3f} mm |\n"
        f"| **ratio, ours over the textbook's** | **{found.time_ratio:.2f}** | "
        f"| **{found.error_ratio:.2f}** |\n"
    )


def page(scores: Scores, duels: list[Duel], command: str) -> str:
    """The page of benchmarks."""
    failed = [
        f"{level.value} {s.seed}: {s.failed}" for level in scores for s in scores[level] if s.failed
    ]
    parts = [
        "# Benchmarks\n",
        f"Made by `{command}` on {datetime.date.today()}, {os.cpu_count()} cores. Runs are "
        "rendered by `coilwright.phantom`, which shares no code with the measurement, from seeds "
        "that nobody had looked at. Where the error comes from: [accuracy.md](accuracy.md).\n",
        "## Accuracy\n",
        table(scores) + "\n",
        f"Runs that were refused: {'; '.join(failed) if failed else 'none'}.\n",
        "## Is the stated standard deviation true?\n",
        "Points of the trunks in ten equal groups by the standard deviation that the program "
        "states, beside the error that was there. The scale's part is in both.\n",
        "![Stated standard deviation and error by tenths](stated-sd.png)\n",
    ]
    if duels:
        parts += [
            "## Time and memory\n",
            "The whole command, start-up included, on 1024 x 1024 x 24, beside a textbook pipeline "
            "of the same steps (log subtraction, Frangi, hysteresis, skeleton, distance "
            "transform), one after the other, both with the true scale "
            "(`benchmarks/measure.py`).\n",
        ]
    for found in duels:
        parts += [f"A patient who is {WORDS[found.level]}:\n", _timing(found)]
    return "\n".join(parts)


def main() -> None:
    """Measure, draw and write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=8000)
    parser.add_argument("--count", type=int, default=8)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--out", type=Path, default=Path("docs"))
    parser.add_argument("--no-timing", action="store_true")
    arguments = parser.parse_args()
    seeds = range(arguments.seed, arguments.seed + arguments.count)
    with ProcessPoolExecutor(arguments.workers) as pool:
        scores = {level: list(pool.map(score, seeds, [level] * arguments.count)) for level in Level}
    timed = () if arguments.no_timing else (Level.STILL, Level.BREATHING)
    duels = [duel(times=3, level=level) for level in timed]
    command = f"benchmarks/report.py --seed {arguments.seed} --count {arguments.count}"
    draw_tenths(scores, arguments.out / "stated-sd.png")
    (arguments.out / "benchmarks.md").write_text(page(scores, duels, command), encoding="utf-8")


if __name__ == "__main__":
    main()
