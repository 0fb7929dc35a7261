"""Speed of the front: against lines worked by hand, and scipy's Theil-Sen estimate."""

import numpy as np
import pytest
from scipy.stats import theilslopes

from coilwright.veins import DiameterMethod, Vessel, VesselKind
from coilwright.venogram.front_speed import _median_slope, front_along


def trunk(arrival_s: list[float | None]) -> Vessel:
    """A straight trunk, one sample every 0.5 mm and pixel."""
    count = len(arrival_s)
    nothing = tuple([None] * count)
    return Vessel(
        id="trunk",
        kind=VesselKind.TRUNK,
        runs=(0,),
        joins=(),
        diameter_method=DiameterMethod.PROFILE,
        points_px=tuple((100.0, float(place)) for place in range(count)),
        arc_mm=tuple(0.5 * place for place in range(count)),
        diameter_mm=nothing,
        diameter_sd_mm=nothing,
        depth_relative_sd=nothing,
        opacity=nothing,
        arrival_s=tuple(arrival_s),
    )


def test_the_front_runs_both_ways_from_the_tip_each_at_its_own_speed() -> None:
    # By hand: tip at sample 100 (50 mm); down 40 mm/s, up 25 mm/s; 200 mm of trunk.
    arrival = [
        1.0 + (0.5 * (place - 100) / 40.0 if place >= 100 else 0.5 * (100 - place) / 25.0)
        for place in range(400)
    ]
    front = front_along(trunk(list(arrival)), (100.0, 100.0), frame_s=0.25)
    assert front is not None
    assert front.tip_at_mm == 50.0
    assert front.down_mm_per_s == pytest.approx(40.0)
    assert front.up_mm_per_s == pytest.approx(25.0)
    assert front.reached_mm == 199.5


def test_a_few_wild_arrivals_do_not_move_the_speed() -> None:
    random = np.random.default_rng(4)
    arrival = 0.5 * np.arange(400) / 30.0 + random.normal(0.0, 0.02, 400)
    arrival[random.choice(400, 40, replace=False)] += 3.0
    front = front_along(trunk([float(a) for a in arrival]), (100.0, 0.0), frame_s=0.2)
    assert front is not None
    assert front.down_mm_per_s is not None
    assert front.down_sd_mm_per_s is not None
    assert abs(front.down_mm_per_s - 30.0) < 2.0 * front.down_sd_mm_per_s
    assert front.up_mm_per_s is None


def test_a_front_that_passes_within_one_frame_has_no_speed() -> None:
    # 200 mm at 1000 mm/s take 0.2 s, less than the 0.5 s between two frames.
    front = front_along(
        trunk([0.5 * place / 1000.0 for place in range(400)]), (100.0, 0.0), frame_s=0.5
    )
    assert front is not None
    assert front.down_mm_per_s is None


def test_nothing_that_arrives_has_no_front() -> None:
    assert front_along(trunk([None] * 50), (100.0, 0.0), frame_s=0.25) is None


def test_the_slope_is_that_of_theil_and_sen() -> None:
    random = np.random.default_rng(2)
    x = np.sort(random.uniform(0.0, 100.0, 80))
    y = 0.03 * x + random.standard_t(2, 80)
    assert _median_slope(x, y) == pytest.approx(theilslopes(y, x).slope, rel=1e-9)
