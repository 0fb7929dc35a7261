"""The tube with an empty and a filled lumen, against scipy's adaptive quadrature."""

import numpy as np
import pytest
from scipy.integrate import quad

from coilwright.venogram.blurred_cylinder import Shape
from coilwright.venogram.filled_tubes import TubeProfiles, fit_tubes, tube_shadows

RADIUS_PX, WALL, LUMEN, SIGMA_PX, VEIL, RATIO = 3.2, 0.12, 0.2, 0.9, 0.15, 0.62
SHAPE = Shape(sigma_px=SIGMA_PX, veil=VEIL)


def absorption(
    x_px: float, filling: float, radius_px: float = RADIUS_PX, ratio: float = RATIO
) -> float:
    """-ln of what comes through at a place: Beer's law along each ray, then a Gaussian blur."""

    def lost(place: float) -> float:
        inner = 2.0 * np.sqrt(max((ratio * radius_px) ** 2 - place**2, 0.0))
        outer = 2.0 * np.sqrt(max(radius_px**2 - place**2, 0.0)) - inner
        blur = np.exp(-0.5 * ((x_px - place) / SIGMA_PX) ** 2) / (np.sqrt(2.0 * np.pi) * SIGMA_PX)
        return float((1.0 - np.exp(-WALL * outer - filling * inner)) * blur)

    walls = [-ratio * radius_px, ratio * radius_px]
    shade, _ = quad(lost, -radius_px, radius_px, points=walls, epsabs=1e-10, limit=200)
    return float(-np.log(1.0 - (1.0 - VEIL) * shade))


def shadows(x_px: float) -> tuple[np.ndarray, np.ndarray]:
    values = np.array([[RADIUS_PX, 0.0, WALL, LUMEN]])
    empty, full = tube_shadows(np.array([[x_px]]), values, np.array([RATIO]), SHAPE)
    return empty[0, :, 0], full[0, :, 0]


@pytest.mark.parametrize("x_px", [0.0, 1.3, 2.4, 3.5, 5.0])
def test_shadow_of_a_filled_and_an_empty_tube_is_the_integral(x_px: float) -> None:
    # Origin of the expected values: scipy.integrate.quad on Beer's law and a Gaussian blur.
    empty, full = shadows(x_px)
    assert empty[0] == pytest.approx(absorption(x_px, 0.0), rel=2e-4)
    assert full[0] == pytest.approx(absorption(x_px, LUMEN), rel=2e-4)


def test_each_tube_of_a_batch_has_its_own_lumen() -> None:
    # Origin of the expected values: scipy.integrate.quad, as above.
    ratios = np.array([0.36, 0.54, 0.80])
    values = np.tile([RADIUS_PX, 0.0, WALL, LUMEN], (3, 1))
    empty, full = tube_shadows(np.full((3, 1), 1.3), values, ratios, SHAPE)
    for ratio, without, with_contrast in zip(ratios, empty[:, 0, 0], full[:, 0, 0], strict=True):
        assert without == pytest.approx(absorption(1.3, 0.0, ratio=ratio), rel=2e-4)
        assert with_contrast == pytest.approx(absorption(1.3, LUMEN, ratio=ratio), rel=2e-4)


def test_the_radius_slope_is_that_of_the_integral() -> None:
    step = 0.02
    for x_px in (1.0, 2.8, 3.6):
        by_radius = (
            absorption(x_px, LUMEN, RADIUS_PX + step) - absorption(x_px, LUMEN, RADIUS_PX - step)
        ) / (2.0 * step)
        assert shadows(x_px)[1][1] == pytest.approx(by_radius, rel=3e-3, abs=1e-4)


def test_both_profiles_together_give_back_radius_axis_and_densities() -> None:
    across = np.arange(-14.0, 14.5, 0.5)
    off = 0.3
    walls = np.array([absorption(x - off, 0.0) for x in across])
    added = np.array([absorption(x - off, LUMEN) for x in across]) - walls
    ground = 0.7 + 0.01 * across
    profiles = TubeProfiles(
        walls=(walls + ground)[None],
        contrast=added[None] + 0.02,
        across_px=across[None],
        wall_pixels=np.ones((1, len(across))),
        contrast_pixels=np.ones((1, len(across))),
    )
    start = np.array([[1.2 * RADIUS_PX, 0.0, 0.08, 0.1]])
    fit = fit_tubes(profiles, SHAPE, np.array([RATIO]), start, np.ones(1), rounds=40)
    assert fit.values[0] == pytest.approx([RADIUS_PX, off, WALL, LUMEN], rel=5e-3)
