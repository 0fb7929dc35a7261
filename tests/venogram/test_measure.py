"""The whole measurement against rendered runs with known truth.

The renderer imports nothing of the measurement and shares no profile or blur with it (import
contract). Its own pictures are checked against closed forms in tests/phantom.
"""

import numpy as np
import pytest
from scipy.spatial import cKDTree

from coilwright.phantom import Level, Truth, random_scene, render, write_run
from coilwright.veins import VeinMap
from coilwright.venogram import ScaleChoice, measure_run, read_run

# Scenes drawn at random with wide settings; the whole table is `make accuracy`.
SEEDS = [104, 102, 110]


@pytest.fixture(scope="module", params=SEEDS)
def pair(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[VeinMap, Truth]:
    rendered = render(random_scene(request.param, Level.STILL))
    file = tmp_path_factory.mktemp("run") / "run.dcm"
    write_run(rendered, file)
    choice = ScaleChoice(catheter_fr=rendered.truth.catheter.size_fr)
    return measure_run(read_run(file), choice).vein_map, rendered.truth


def numbers(values: tuple[float | None, ...]) -> np.ndarray:
    return np.array([np.nan if v is None else v for v in values])


def test_trunk_is_covered(pair: tuple[VeinMap, Truth]) -> None:
    found, truth = pair
    assert found.trunk is not None
    true_points = np.array(truth.trunk.points_px)
    away, _ = cKDTree(np.array(found.trunk.points_px)).query(true_points)
    assert (away * truth.scale.over_trunk < 1.0).mean() >= 0.98


def test_scale_by_the_catheter(pair: tuple[VeinMap, Truth]) -> None:
    found, truth = pair
    assert found.calibration.method.value == "catheter"
    error = found.calibration.mm_per_pixel / truth.scale.at_catheter - 1
    assert abs(error) < 0.025
    assert abs(error) < 3 * found.calibration.relative_sd


def test_calibre_and_its_stated_uncertainty(pair: tuple[VeinMap, Truth]) -> None:
    found, truth = pair
    trunk = found.trunk
    assert trunk is not None
    true_points = np.array(truth.trunk.points_px)
    away, nearest = cKDTree(true_points).query(np.array(trunk.points_px))
    near = (away * truth.scale.over_trunk < 1.0) & np.isfinite(numbers(trunk.diameter_mm))
    error = (numbers(trunk.diameter_mm) - np.array(truth.trunk.diameter_mm)[nearest])[near]
    sd = np.hypot(
        numbers(trunk.diameter_sd_mm),
        numbers(trunk.depth_relative_sd) * numbers(trunk.diameter_mm),
    )[near]
    assert np.abs(error).mean() < 0.2
    assert (np.abs(error) < 2 * sd).mean() > 0.85


def test_tip_lies_where_it_does_and_in_the_trunk(pair: tuple[VeinMap, Truth]) -> None:
    found, truth = pair
    assert found.catheter.tip_px is not None
    off_px = np.hypot(*(np.array(found.catheter.tip_px) - np.array(truth.catheter.tip_px)))
    assert off_px * truth.scale.at_catheter < 2.0
    assert found.catheter.in_vessel == "trunk"


def test_side_is_never_made_up(pair: tuple[VeinMap, Truth]) -> None:
    assert pair[0].side is None
