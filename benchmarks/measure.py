"""The time and memory of one measurement, beside a textbook pipeline of the same steps.

Both are whole processes, start-up included, on one run of 1024 x 1024 pixels and 24 frames, one
after the other, several times; the ratio of the medians is what counts, since a machine's own speed
is in both. The textbook pipeline is of scikit-image alone: log subtraction, Frangi's vesselness,
hysteresis, skeleton, distance transform, and the calibre at each point of the skeleton.

    .venv/bin/python benchmarks/measure.py [--times 3] [--level still]
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from coilwright.phantom import Level, demo_scene, render, write_run

SIDE_PX = 1024
FRAMES = 24
SCALES_PX = (2.0, 4.0, 6.0, 8.0, 10.0)
KIB_PER_GIB = 1024.0**2


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What one process took."""

    seconds: float
    peak_gib: float


def textbook(file: Path, out: Path) -> None:
    """The steps of the textbook, on the mean of the last frames against the mean of the first."""
    import pydicom  # noqa: PLC0415 - its import is part of the time that is taken
    from scipy.ndimage import distance_transform_edt  # noqa: PLC0415 - the same
    from skimage.filters import apply_hysteresis_threshold, frangi  # noqa: PLC0415 - the same
    from skimage.morphology import skeletonize  # noqa: PLC0415 - the same

    frames = pydicom.dcmread(file).pixel_array.astype(np.float32)
    logs = np.log(np.maximum(frames, 1.0))
    picture = logs[:3].mean(axis=0) - logs[-6:].mean(axis=0)
    vesselness = frangi(picture, sigmas=SCALES_PX, black_ridges=False)
    low, high = np.quantile(vesselness, (0.96, 0.99))
    vessels = apply_hysteresis_threshold(vesselness, low, high)
    middle = skeletonize(vessels)
    diameters_px = 2.0 * distance_transform_edt(vessels)[middle]
    out.write_text(json.dumps({"diameters_px": diameters_px.tolist()}), encoding="utf-8")


def write_benchmark_run(file: Path, level: Level) -> float:
    """The demo's vein on a larger detector; the French size of its catheter."""
    demo = demo_scene()
    share = SIDE_PX / demo.cone.rows
    cone = replace(
        demo.cone,
        rows=SIDE_PX,
        columns=SIDE_PX,
        imager_spacing_mm=demo.cone.imager_spacing_mm / share,
    )
    rendered = render(replace(demo, cone=cone, frames=FRAMES, level=level))
    write_run(rendered, file)
    return float(rendered.truth.catheter.size_fr)


def cost_of(command: list[str]) -> Cost:
    """Time and peak memory of a process, its own and its children's."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) != 0:
        raise subprocess.CalledProcessError(os.waitstatus_to_exitcode(status), command)
    return Cost(seconds=seconds, peak_gib=usage.ru_maxrss / KIB_PER_GIB)


def compare(times: int, level: Level) -> None:
    """Run both in turn and say the ratio."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        run = folder / "run.dcm"
        size_fr = write_benchmark_run(run, level)
        program = str(Path(sys.executable).with_name("coilwright"))
        ours_command = [program, "measure", str(run), "--json", str(folder / "map.json")]
        ours_command += ["--catheter-fr", f"{size_fr:g}"]
        book_command = [sys.executable, __file__, "--textbook", str(run), str(folder / "book.json")]
        ours, book = [], []
        for _ in range(times):
            ours.append(cost_of(ours_command))
            book.append(cost_of(book_command))
    print(f"run: {SIDE_PX} x {SIDE_PX} x {FRAMES}, {level.value}; {os.cpu_count()} cores")
    for what, costs in (("coilwright measure", ours), ("textbook pipeline", book)):
        middle = statistics.median(cost.seconds for cost in costs)
        print(f"{what:20} {middle:6.2f} s  peak {max(c.peak_gib for c in costs):.2f} GiB")
    ratio = _median_s(ours) / _median_s(book)
    print(f"time of ours over the textbook's: {ratio:.2f}")


def _median_s(costs: list[Cost]) -> float:
    return statistics.median(cost.seconds for cost in costs)


def main() -> None:
    """The comparison, or one run of the textbook pipeline."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=3)
    parser.add_argument("--level", choices=[level.value for level in Level], default="still")
    parser.add_argument("--textbook", nargs=2, type=Path, metavar=("RUN", "OUT"))
    arguments = parser.parse_args()
    if arguments.textbook is not None:
        textbook(*arguments.textbook)
    else:
        compare(arguments.times, Level(arguments.level))


if __name__ == "__main__":
    main()
