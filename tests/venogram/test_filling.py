"""Lines that fill as veins do, and lines that do not: curves drawn by hand."""

import numpy as np
import numpy.typing as npt
import pytest

from coilwright.phantom.bystanders import Ureter
from coilwright.venogram.filling import fills_like_a_vein, unsteady_share

TIMES_S = np.arange(0.0, 12.0, 0.5)
PLACES_MM = np.arange(0.0, 60.0, 0.5)
Curves = npt.NDArray[np.float64]


def vein(stop_s: float = 99.0) -> Curves:
    """Front at 40 mm/s from 2 s on; washes out over 3 s after ``stop_s``."""
    since = TIMES_S[:, None] - 2.0 - PLACES_MM[None, :] / 40.0
    filled = np.clip(since / 0.5, 0.0, 1.0)
    return filled * np.exp(-np.maximum(since - stop_s, 0.0) / 3.0)


def ureter() -> Curves:
    """Boluses of 30 mm with gaps of 20 mm at 14 mm/s, against a mask of the first two frames."""
    tube = Ureter(
        knots_mm=((0, 0, 0), (0, 20, 0), (0, 40, 0), (0, 60, 0)),
        diameter_mm=4.0,
        mg_i_per_ml=60.0,
        bolus_mm=30.0,
        gap_mm=20.0,
        speed_mm_per_s=14.0,
    )
    curves = np.array([tube.filling(PLACES_MM, float(time)) for time in TIMES_S])
    return np.asarray(curves - curves[:2].mean(axis=0), dtype=np.float64)


def test_a_vein_fills_steadily_and_may_wash_out() -> None:
    assert unsteady_share(vein()) == 0.0
    assert unsteady_share(vein(stop_s=3.0)) == 0.0


def test_noise_does_not_make_a_vein_unsteady() -> None:
    noise = np.random.default_rng(5).normal(0.0, 0.12, vein().shape)
    assert unsteady_share(vein() + noise) < 0.1


def test_boluses_that_pass_come_and_go() -> None:
    assert unsteady_share(ureter()) > 0.6
    assert not fills_like_a_vein(ureter(), vein())


def test_what_grows_lighter_than_the_mask_is_no_vein() -> None:
    assert unsteady_share(-vein()) == pytest.approx(1.0)


def test_a_trunk_injected_twice_takes_the_proof_away() -> None:
    twice = vein(stop_s=1.5)
    twice[TIMES_S > 8.0] = vein()[TIMES_S > 8.0]
    twice[(TIMES_S > 6.0) & (TIMES_S <= 8.0)] = 0.0
    assert unsteady_share(twice) > 0.9
    assert fills_like_a_vein(ureter(), twice)
