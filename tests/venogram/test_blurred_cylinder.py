import numpy as np
import pytest
from scipy.integrate import quad

from coilwright.venogram.blurred_cylinder import shadow


def absorption(
    x_px: float, radius_px: float, density: float, sigma_px: float, **kind: float
) -> float:
    found = shadow(np.array([[x_px]]), np.array([radius_px]), np.array([density]), sigma_px, **kind)
    return float(found.absorption[0, 0])


def by_quadrature(
    x_px: float, radius_px: float, density: float, sigma_px: float, lumen: float, veil: float
) -> float:
    """The defining integral by scipy.integrate.quad, independent of the code's own nodes."""

    def lost(y: float) -> float:
        chord = 2 * np.sqrt(max(radius_px**2 - y**2, 0.0))
        chord -= 2 * np.sqrt(max((lumen * radius_px) ** 2 - y**2, 0.0))
        gauss = np.exp(-0.5 * ((x_px - y) / sigma_px) ** 2) / (sigma_px * np.sqrt(2 * np.pi))
        return float((1 - np.exp(-density * chord)) * gauss)

    inner = lumen * radius_px
    breaks = sorted({-inner, inner, x_px}) if lumen else [x_px]
    breaks = [b for b in breaks if -radius_px < b < radius_px]
    total, _ = quad(lost, -radius_px, radius_px, points=breaks or None, limit=400)
    return float(-np.log(1 - (1 - veil) * total))


def test_a_thin_sharp_shadow_is_the_chord_of_the_circle() -> None:
    # By hand: 2 * sqrt(5**2 - 3**2) = 8 pixels at 3 px from the axis of a 5 px cylinder.
    assert absorption(3.0, 5.0, 1e-6, 0.05) == pytest.approx(8e-6, rel=2e-3)


@pytest.mark.parametrize("radius_px", [2.5, 6.0, 15.0])
@pytest.mark.parametrize("sigma_px", [0.7, 1.4])
@pytest.mark.parametrize(("lumen", "veil"), [(0.0, 0.0), (0.6, 0.0), (0.6, 0.25)])
def test_shadow_agrees_with_general_quadrature(
    radius_px: float, sigma_px: float, lumen: float, veil: float
) -> None:
    density = 0.4 / radius_px
    for part in (0.0, 0.5, 0.9, 1.0, 1.2):
        x_px = part * radius_px
        expected = by_quadrature(x_px, radius_px, density, sigma_px, lumen, veil)
        found = absorption(x_px, radius_px, density, sigma_px, lumen_ratio=lumen, veil=veil)
        assert found == pytest.approx(expected, rel=5e-3, abs=1e-4)


def test_blurring_the_chord_instead_of_the_intensity_would_be_too_narrow() -> None:
    # The reason for the model: at the wall of a dense tube the logarithm of a mean is below the
    # mean of the logarithms (Jensen's inequality).
    dense = absorption(5.0, 5.0, 0.2, 1.2) / 0.2
    thin = absorption(5.0, 5.0, 1e-6, 1.2) / 1e-6
    assert dense < 0.9 * thin


@pytest.mark.parametrize("lumen", [0.0, 0.6])
def test_derivatives_agree_with_finite_differences(lumen: float) -> None:
    x, r, a, s, h = 4.2, 5.0, 0.08, 0.9, 1e-2
    found = shadow(np.array([[x]]), np.array([r]), np.array([a]), s, lumen_ratio=lumen, veil=0.1)

    def at(dx: float = 0.0, dr: float = 0.0, da: float = 0.0) -> float:
        return absorption(x + dx, r + dr, a + da, s, lumen_ratio=lumen, veil=0.1)

    assert found.by_x[0, 0] == pytest.approx((at(dx=h) - at(dx=-h)) / (2 * h), rel=2e-2)
    assert found.by_radius[0, 0] == pytest.approx((at(dr=h) - at(dr=-h)) / (2 * h), rel=2e-2)
    slope = (at(da=1e-3) - at(da=-1e-3)) / 2e-3
    assert found.by_density[0, 0] == pytest.approx(slope, rel=2e-2)
