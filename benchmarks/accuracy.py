"""Measure rendered runs against their known truth: `make accuracy`.

The renderer shares nothing with the measurement. Every figure is per run: share of the true trunk
within 1 mm of the measured one; mean absolute error of the trunk's calibre with the program's own
scale in the catheter's plane, and as it stands (the vein comes forward: depth); error of the scale
where the catheter lies in the vein; share of errors in that plane within two stated standard
deviations; share of true side veins and duplicates (1.2 mm and 12 mm up) that were found;
centreline length that is no vein. Kinds, joins, arrival and ostium: see `structure.py`.
"""

import argparse
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import structure
from scipy.spatial import cKDTree

from coilwright.errors import InputError
from coilwright.phantom import Level, Truth, random_scene, render, write_run
from coilwright.veins import VeinMap, Vessel
from coilwright.venogram import ScaleChoice, measure_run, read_run

Array = npt.NDArray[np.float64]

NEAR_MM = 1.0
SIDE_NEAR_MM = 1.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """How one run was measured; fields are NaN where there is nothing to compare.

    ``errors_mm`` and ``stated_mm`` are those of the trunk's points, in the catheter's plane.
    """

    seed: int
    seconds: float
    failed: str = ""
    method: str = ""
    coverage: float = float("nan")
    diameter_mae_mm: float = float("nan")
    diameter_bias_mm: float = float("nan")
    with_depth_mae_mm: float = float("nan")
    true_scale_mae_mm: float = float("nan")
    scale_error: float = float("nan")
    scale_sd: float = float("nan")
    within_two_sd: float = float("nan")
    sides_found: float = float("nan")
    no_vein: float = float("nan")
    tip_error_mm: float = float("nan")
    tip_vessel_right: float = float("nan")
    kinds_right: float = float("nan")
    joins_right: float = float("nan")
    arrival_error_s: float = float("nan")
    arrival_bias_s: float = float("nan")
    ostium_error_mm: float = float("nan")
    errors_mm: tuple[float, ...] = ()
    stated_mm: tuple[float, ...] = ()


def score(seed: int, level: Level) -> Score:
    """Render, measure and compare one run."""
    rendered = render(random_scene(seed, level))
    size_fr = rendered.truth.catheter.size_fr
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "run.dcm"
        write_run(rendered, file)
        start = time.perf_counter()
        try:
            measured = measure_run(read_run(file), ScaleChoice(catheter_fr=size_fr)).vein_map
        except InputError as error:
            return Score(seed=seed, seconds=time.perf_counter() - start, failed=str(error))
        return compare(measured, rendered.truth, seed, time.perf_counter() - start)


def compare(measured: VeinMap, truth: Truth, seed: int, seconds: float) -> Score:
    """Score of a map against the truth."""
    truth = _in_pose(truth, measured.reference_frame)
    trunk, true_trunk = measured.trunk, truth.trunk
    assert trunk is not None
    points, true_points = (
        np.array(trunk.points_px),
        _inside(np.array(true_trunk.points_px), measured),
    )
    mm = truth.scale.at_catheter
    away, _ = cKDTree(points).query(true_points)
    to_true, nearest = cKDTree(np.array(true_trunk.points_px)).query(points)
    diameter, sd = _numbers(trunk.diameter_mm), _numbers(trunk.diameter_sd_mm)
    near = (to_true * mm < NEAR_MM) & np.isfinite(diameter)
    true_scale = np.array(true_trunk.mm_per_pixel)[nearest]
    true_mm = np.array(true_trunk.diameter_mm)[nearest]
    error = diameter - true_mm * mm / true_scale
    depth_error = diameter - true_mm
    rescaled = diameter * true_scale / measured.calibration.mm_per_pixel
    true_scale_error = rescaled - true_mm
    tip = measured.catheter.tip_px
    found = structure.found_vessels(measured, truth, mm)
    arrival_error_s, arrival_bias_s = structure.arrival_error_s(truth, found, mm)
    return Score(
        seed=seed,
        seconds=seconds,
        method=measured.calibration.method.value,
        coverage=float((away * mm < NEAR_MM).mean()),
        diameter_mae_mm=float(np.abs(error[near]).mean()),
        diameter_bias_mm=float(error[near].mean()),
        with_depth_mae_mm=float(np.abs(depth_error[near]).mean()),
        true_scale_mae_mm=float(np.abs(true_scale_error[near]).mean()),
        scale_error=measured.calibration.mm_per_pixel / mm - 1.0,
        scale_sd=measured.calibration.relative_sd,
        within_two_sd=float((np.abs(error[near]) <= 2 * sd[near]).mean()),
        sides_found=_sides_found(measured, truth, mm),
        no_vein=_no_vein(measured, truth, mm),
        tip_error_mm=(
            float(np.hypot(*(np.array(tip) - np.array(truth.catheter.tip_px))) * mm)
            if tip is not None
            else float("nan")
        ),
        tip_vessel_right=float(
            (measured.catheter.in_vessel == "trunk") == (truth.catheter.in_vessel == true_trunk.id)
        ),
        kinds_right=structure.kinds_right(truth, found),
        joins_right=structure.joins_right(measured, truth, found, mm),
        arrival_error_s=arrival_error_s,
        arrival_bias_s=arrival_bias_s,
        ostium_error_mm=structure.ostium_error_mm(measured, truth, mm),
        errors_mm=tuple(float(e) for e in error[near]),
        stated_mm=tuple(float(s) for s in sd[near]),
    )


def _in_pose(truth: Truth, frame: int) -> Truth:
    """The truth as it stands in the measured map's reference frame: its points are at rest."""
    carry = np.array(truth.to_frame_px[frame])

    def moved(points: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        there = np.array(points) @ carry[:, :2].T + carry[:, 2]
        return tuple((float(x), float(y)) for x, y in there)

    vessels = tuple(replace(v, points_px=moved(v.points_px)) for v in truth.vessels)
    (tip,) = moved([truth.catheter.tip_px])
    ostium = truth.landmarks.ostium
    landmarks = replace(truth.landmarks, ostium=None if ostium is None else moved([ostium])[0])
    catheter = replace(truth.catheter, tip_px=tip)
    return replace(truth, vessels=vessels, catheter=catheter, landmarks=landmarks)


def _numbers(values: tuple[float | None, ...]) -> Array:
    return np.array([np.nan if v is None else v for v in values])


def _inside(points: Array, measured: VeinMap) -> Array:
    run = measured.runs[0]
    inside = (points > 0.5).all(1) & (points < np.array([run.columns - 1.5, run.rows - 1.5])).all(1)
    return points[inside]


def _sides_found(measured: VeinMap, truth: Truth, mm: float) -> float:
    """Share of true side veins and duplicates of which two thirds lie near a measured vessel."""
    others = [v for v in measured.vessels if v.id != "trunk"]
    drawn = np.concatenate([np.array(v.points_px) for v in others] or [np.full((1, 2), -1e6)])
    found = []
    for vessel in truth.vessels:
        points = _inside(np.array(vessel.points_px), measured)
        long_enough = len(points) > 2 and _length_mm(points, mm) >= 12.0
        wide_enough = float(np.median(vessel.diameter_mm)) >= 1.2
        if vessel.kind.value in ("side-vein", "duplicate") and long_enough and wide_enough:
            away, _ = cKDTree(drawn).query(points)
            found.append(float((away * mm < SIDE_NEAR_MM).mean()) > 0.66)
    return float(np.mean(found)) if found else float("nan")


def _no_vein(measured: VeinMap, truth: Truth, mm: float) -> float:
    """Share of measured centreline that lies on no true vessel."""
    true_points = np.concatenate([np.array(v.points_px) for v in truth.vessels])
    lengths = [(_off(v, true_points, mm), v.length_mm) for v in measured.vessels]
    return float(sum(off for off, _ in lengths) / max(sum(all_ for _, all_ in lengths), 1e-9))


def _off(vessel: Vessel, true_points: Array, mm: float) -> float:
    away, _ = cKDTree(true_points).query(np.array(vessel.points_px))
    return float((away * mm > 2 * SIDE_NEAR_MM).mean()) * vessel.length_mm


def _length_mm(points: Array, mm: float) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum() * mm)


def main() -> None:
    """Print a line per run and a summary per level."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--level", choices=[level.value for level in Level], action="append")
    parser.add_argument("--seed", type=int, default=1000)
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--workers", type=int, default=2)
    arguments = parser.parse_args()
    for name in arguments.level or [Level.STILL.value]:
        seeds = range(arguments.seed, arguments.seed + arguments.count)
        with ProcessPoolExecutor(arguments.workers) as pool:
            scores = list(pool.map(score, seeds, [Level(name)] * arguments.count))
        _print(name, scores)


def _print(level: str, scores: list[Score]) -> None:
    for s in scores:
        if s.failed:
            print(f"{level} {s.seed}: FAILED {s.failed}")
            continue
        print(
            f"{level} {s.seed} {s.seconds:4.1f} s  cover {s.coverage:.3f}  "
            f"calibre {s.diameter_mae_mm:.3f} (bias {s.diameter_bias_mm:+.3f}, with depth "
            f"{s.with_depth_mae_mm:.3f}, true scale {s.true_scale_mae_mm:.3f})  "
            f"scale {s.scale_error:+.2%} (sd {s.scale_sd:.2%}, "
            f"{s.method})  in 2 sd {s.within_two_sd:.2f}  sides {s.sides_found:.2f}  "
            f"no vein {s.no_vein:.2f}  tip {s.tip_error_mm:.1f} mm {s.tip_vessel_right:.0f}  "
            f"kinds {s.kinds_right:.2f}  joins {s.joins_right:.2f}  "
            f"arrival {s.arrival_error_s:.2f} s ({s.arrival_bias_s:+.2f})  "
            f"ostium {s.ostium_error_mm:.1f} mm"
        )
    kept = [asdict(s) for s in scores if not s.failed]
    print(f"--- {level}: {len(kept)} of {len(scores)} measured")
    for field in (
        "coverage",
        "diameter_mae_mm",
        "with_depth_mae_mm",
        "true_scale_mae_mm",
        "scale_error",
        "within_two_sd",
        "sides_found",
        "no_vein",
        "tip_error_mm",
        "kinds_right",
        "joins_right",
        "arrival_error_s",
        "ostium_error_mm",
        "seconds",
    ):
        values = np.abs([k[field] for k in kept])
        print(
            f"    {field:20s} mean {np.nanmean(values):.4f}  worst "
            f"{np.nanmax(values):.4f}  least {np.nanmin(values):.4f}"
        )


if __name__ == "__main__":
    main()
