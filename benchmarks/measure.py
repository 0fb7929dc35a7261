"""The time, memory and accuracy of one measurement, beside a textbook pipeline of the same steps.

Both are whole processes, start-up included, on one run of 1024 x 1024 pixels and 24 frames, one
after the other, several times; the ratio of the medians is what counts, since a machine's own speed
is in both. The textbook pipeline is of scikit-image alone: log subtraction, Frangi's vesselness,
hysteresis, skeleton, distance transform, and the calibre at each point of the skeleton.

The calibre is compared with the truth where a point lies within a millimetre of the true trunk, as
it stood in the pictures that were measured. The textbook knows no scale: both are given the true
one, and ours is shown with its own as well.

    .venv/bin/python benchmarks/measure.py [--times 3] [--level still] [--level breathing]
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
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.phantom import Level, Truth, demo_scene, render, write_run
from coilwright.veins import VeinMap, vein_map_from_json

Array = npt.NDArray[np.float64]

SIDE_PX = 1024
FRAMES = 24
SCALES_PX = (2.0, 4.0, 6.0, 8.0, 10.0)
KIB_PER_GIB = 1024.0**2
NEAR_MM = 1.0
# The textbook's picture is the mean of the last six frames: about the third from the end.
LAST_FRAMES = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What one process took."""

    seconds: float
    peak_gib: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Duel:
    """Both on one run: seconds, memory, and how wrong the calibre of the trunk is.

    The errors are with the true scale for both; ``own_scale_error_mm`` is ours with our own.
    """

    level: Level
    ours_s: float
    ours_gib: float
    ours_error_mm: float
    own_scale_error_mm: float
    textbook_s: float
    textbook_gib: float
    textbook_error_mm: float

    @property
    def time_ratio(self) -> float:
        """Our time over the textbook's."""
        return self.ours_s / self.textbook_s

    @property
    def error_ratio(self) -> float:
        """Our error over the textbook's."""
        return self.ours_error_mm / self.textbook_error_mm


def textbook(file: Path, out: Path) -> None:
    """The steps of the textbook, on the mean of the last frames against the mean of the first."""
    import pydicom  # noqa: PLC0415 - its import is part of the time that is taken
    from scipy.ndimage import distance_transform_edt  # noqa: PLC0415 - the same
    from skimage.filters import apply_hysteresis_threshold, frangi  # noqa: PLC0415 - the same
    from skimage.morphology import skeletonize  # noqa: PLC0415 - the same

    frames = pydicom.dcmread(file).pixel_array.astype(np.float32)
    logs = np.log(np.maximum(frames, 1.0))
    picture = logs[:3].mean(axis=0) - logs[-LAST_FRAMES:].mean(axis=0)
    vesselness = frangi(picture, sigmas=SCALES_PX, black_ridges=False)
    low, high = np.quantile(vesselness, (0.96, 0.99))
    vessels = apply_hysteresis_threshold(vesselness, low, high)
    middle = skeletonize(vessels)
    rows, columns = np.nonzero(middle)
    diameters_px = 2.0 * distance_transform_edt(vessels)[middle]
    found = np.column_stack([columns, rows, diameters_px])
    out.write_text(json.dumps(found.tolist()), encoding="utf-8")


def write_benchmark_run(file: Path, level: Level) -> Truth:
    """The demo's vein on a larger detector, breathing as the demo does or kept still."""
    demo = demo_scene()
    share = SIDE_PX / demo.cone.rows
    cone = replace(
        demo.cone,
        rows=SIDE_PX,
        columns=SIDE_PX,
        imager_spacing_mm=demo.cone.imager_spacing_mm / share,
    )
    motion = demo.motion
    if level is Level.STILL:
        motion = replace(motion, amplitude_mm=0.0, gas_drift_mm=0.0)
    rendered = render(replace(demo, cone=cone, frames=FRAMES, motion=motion, level=level))
    write_run(rendered, file)
    return rendered.truth


def cost_of(command: list[str]) -> Cost:
    """Time and peak memory of a process, its own and its children's."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) != 0:
        raise subprocess.CalledProcessError(os.waitstatus_to_exitcode(status), command)
    return Cost(seconds=seconds, peak_gib=usage.ru_maxrss / KIB_PER_GIB)


def calibre_error_mm(points_xy: Array, diameters_px: Array, truth: Truth, frame: int) -> float:
    """Mean absolute error of the calibre along the true trunk as it stood in a frame."""
    carry = np.array(truth.to_frame_px[frame])
    trunk = np.array(truth.trunk.points_px) @ carry[:, :2].T + carry[:, 2]
    away, nearest = cKDTree(trunk).query(points_xy)
    mm = np.array(truth.trunk.mm_per_pixel)[nearest]
    error = diameters_px * mm - np.array(truth.trunk.diameter_mm)[nearest]
    return float(np.abs(error[(away * mm < NEAR_MM) & np.isfinite(error)]).mean())


def our_errors_mm(found: VeinMap, truth: Truth) -> tuple[float, float]:
    """Error of our trunk's calibre with the true scale, and with our own in its place."""
    trunk = found.trunk
    assert trunk is not None
    points = np.array(trunk.points_px)
    diameters_mm = np.array([np.nan if d is None else d for d in trunk.diameter_mm])
    with_true, with_own = (
        calibre_error_mm(points, diameters_mm / mm_per_pixel, truth, found.reference_frame)
        for mm_per_pixel in (found.calibration.mm_per_pixel, truth.scale.at_catheter)
    )
    return with_true, with_own


def duel(times: int, level: Level) -> Duel:
    """Both in turn on one run, several times: medians, and the greatest memory."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        run, our_map, book_points = folder / "run.dcm", folder / "map.json", folder / "book.json"
        truth = write_benchmark_run(run, level)
        program = str(Path(sys.executable).with_name("coilwright"))
        ours_command = [program, "measure", str(run), "--json", str(our_map)]
        ours_command += ["--catheter-fr", f"{truth.catheter.size_fr:g}"]
        book_command = [sys.executable, __file__, "--textbook", str(run), str(book_points)]
        ours, book = [], []
        for _ in range(times):
            ours.append(cost_of(ours_command))
            book.append(cost_of(book_command))
        found = vein_map_from_json(our_map.read_text(encoding="utf-8"), our_map)
        points = np.array(json.loads(book_points.read_text(encoding="utf-8")))
    ours_mm, own_scale_mm = our_errors_mm(found, truth)
    middle = FRAMES - LAST_FRAMES // 2
    return Duel(
        level=level,
        ours_s=statistics.median(cost.seconds for cost in ours),
        ours_gib=max(cost.peak_gib for cost in ours),
        ours_error_mm=ours_mm,
        own_scale_error_mm=own_scale_mm,
        textbook_s=statistics.median(cost.seconds for cost in book),
        textbook_gib=max(cost.peak_gib for cost in book),
        textbook_error_mm=calibre_error_mm(points[:, :2], points[:, 2], truth, middle),
    )


def say(found: Duel) -> None:
    """The figures and both ratios, in plain words."""
    run = f"{SIDE_PX} x {SIDE_PX} x {FRAMES}, {found.level.value}"
    print(f"run: {run}; {os.cpu_count()} processors")
    for what, seconds, gib, error_mm in (
        ("coilwright measure", found.ours_s, found.ours_gib, found.ours_error_mm),
        ("textbook pipeline", found.textbook_s, found.textbook_gib, found.textbook_error_mm),
    ):
        print(
            f"  {what}: {seconds:.2f} s, {gib:.2f} GiB at the peak, "
            f"calibre of the trunk wrong by {error_mm:.3f} mm on average"
        )
    own_mm = found.own_scale_error_mm
    print(f"  with our own scale our calibre is wrong by {own_mm:.3f} mm on average")
    print(f"  time, ours over the textbook's: {found.time_ratio:.2f}")
    print(f"  error of the calibre, ours over the textbook's: {found.error_ratio:.2f}")


def main() -> None:
    """The comparison, or one run of the textbook pipeline."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=3)
    levels = [Level.STILL.value, Level.BREATHING.value]
    parser.add_argument("--level", choices=levels, action="append")
    parser.add_argument("--textbook", nargs=2, type=Path, metavar=("RUN", "OUT"))
    arguments = parser.parse_args()
    if arguments.textbook is not None:
        textbook(*arguments.textbook)
        return
    for level in arguments.level or levels:
        say(duel(arguments.times, Level(level)))


if __name__ == "__main__":
    main()
