import numpy as np
import pytest

from coilwright.venogram.log_pixels import log_units_per_neper


def counted(units: float, photons: float) -> np.ndarray:
    """Frames of Poisson counts over a ramp of two nepers, stored as rounded logarithms."""
    random = np.random.default_rng(7)
    ramp = np.exp(-np.linspace(0, 2, 256))[None, None, :] * np.ones((5, 256, 256))
    counts = np.maximum(random.poisson(photons * ramp), 1)
    return np.round(1000 + units * np.log(counts / photons)).astype(np.float32)


@pytest.mark.parametrize("units", [180.0, 600.0, 2500.0])
def test_units_per_neper_follow_from_photon_noise(units: float) -> None:
    # Poisson: the variance of ln(N) is 1/N, so the slope of its logarithm is -1 per neper.
    found = log_units_per_neper(counted(units, photons=2000.0))
    assert found == pytest.approx(units, rel=0.06)


def test_noise_that_is_the_same_everywhere_tells_nothing() -> None:
    random = np.random.default_rng(3)
    even = np.linspace(0, 900, 256)[None, None, :] + random.normal(0, 9, (5, 256, 256))
    assert log_units_per_neper(even.astype(np.float32)) is None
