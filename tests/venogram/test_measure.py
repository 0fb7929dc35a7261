"""The whole measurement against rendered runs with known truth.

The renderer imports nothing of the measurement and shares no profile or blur with it (import
contract). Its own pictures are checked against closed forms in tests/phantom.
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from coilwright.phantom import Level, Truth, random_scene, render, write_run
from coilwright.veins import VeinMap
from coilwright.venogram import ScaleChoice, measure_run, read_run

# The first three scenes of the accuracy table; the whole table is `make accuracy`.
SEEDS = [1000, 1001, 1002]
Pair = tuple[VeinMap, Truth]


def measured(seed: int, folder: Path) -> Pair:
    rendered = render(random_scene(seed, Level.STILL))
    file = folder / f"run{seed}.dcm"
    write_run(rendered, file)
    choice = ScaleChoice(catheter_fr=rendered.truth.catheter.size_fr)
    return measure_run(read_run(file), choice).vein_map, rendered.truth


@pytest.fixture(scope="module")
def pairs(tmp_path_factory: pytest.TempPathFactory) -> list[Pair]:
    folder = tmp_path_factory.mktemp("runs")
    return [measured(seed, folder) for seed in SEEDS]


def numbers(values: tuple[float | None, ...]) -> np.ndarray:
    return np.array([np.nan if v is None else v for v in values])


def scale_error(pair: Pair) -> float:
    found, truth = pair
    return found.calibration.mm_per_pixel / truth.scale.at_catheter - 1


def calibre_errors(pair: Pair) -> tuple[np.ndarray, np.ndarray]:
    """Error and stated sd along the trunk, in the catheter's plane."""
    found, truth = pair
    assert found.trunk is not None
    away, nearest = cKDTree(np.array(truth.trunk.points_px)).query(np.array(found.trunk.points_px))
    diameter, sd = numbers(found.trunk.diameter_mm), numbers(found.trunk.diameter_sd_mm)
    near = (away * truth.scale.over_trunk < 1.0) & np.isfinite(diameter)
    to_plane = truth.scale.at_catheter / np.array(truth.trunk.mm_per_pixel)[nearest]
    error = diameter - np.array(truth.trunk.diameter_mm)[nearest] * to_plane
    return error[near], sd[near]


def test_trunk_is_covered(pairs: list[Pair]) -> None:
    covered = []
    for found, truth in pairs:
        assert found.trunk is not None
        away, _ = cKDTree(np.array(found.trunk.points_px)).query(np.array(truth.trunk.points_px))
        covered.append((away * truth.scale.over_trunk < 1.0).mean())
    assert np.mean(covered) >= 0.98


def test_scale_by_the_catheter(pairs: list[Pair]) -> None:
    assert all(found.calibration.method.value == "catheter" for found, _ in pairs)
    assert np.mean([abs(scale_error(pair)) for pair in pairs]) < 0.02
    for pair in pairs:
        assert abs(scale_error(pair)) < 3 * pair[0].calibration.relative_sd


def test_calibre_and_its_stated_uncertainty(pairs: list[Pair]) -> None:
    errors = [calibre_errors(pair) for pair in pairs]
    assert np.mean([np.abs(error).mean() for error, _ in errors]) < 0.15
    assert np.mean([(np.abs(error) <= 2 * sd).mean() for error, sd in errors]) >= 0.90


def test_tip_lies_where_it_does_and_in_the_trunk(pairs: list[Pair]) -> None:
    for found, truth in pairs:
        assert found.catheter.tip_px is not None
        off_px = np.hypot(*(np.array(found.catheter.tip_px) - np.array(truth.catheter.tip_px)))
        assert off_px * truth.scale.at_catheter < 2.0
        assert found.catheter.in_vessel == "trunk"


def test_side_is_never_made_up(pairs: list[Pair]) -> None:
    assert [found.side for found, _ in pairs] == [None, None, None]
