import numpy as np
import pytest

from coilwright.venogram.linear_pixels import zero_beam_level


def counted(offset: float, *, frames: int = 5, gain: float = 0.5, seed: int = 3) -> np.ndarray:
    """Photon counts over a body of 1.8 nepers, times a gain, shifted: nothing of the engine."""
    rng = np.random.default_rng(seed)
    across = np.linspace(0, 1.8, 220)
    beam = 3000 * np.exp(-across)[None, None, :] * np.ones((frames, 200, 1))
    return np.asarray(gain * rng.poisson(beam) + offset, dtype=np.float32)


@pytest.mark.parametrize("offset", [0.0, -2048.0, -512.0])
def test_photon_noise_shows_where_the_beam_is_zero(offset: float) -> None:
    # Poisson: variance equals mean, so it vanishes exactly at the offset.
    assert zero_beam_level(counted(offset), (0.0, -512.0, -2048.0)) == offset


def test_no_candidate_is_named_where_none_fits() -> None:
    assert zero_beam_level(counted(-1000.0), (0.0, -2048.0)) is None


def test_even_noise_names_none() -> None:
    rng = np.random.default_rng(4)
    picture = np.linspace(200, 2000, 220)[None, None, :] + rng.normal(0, 9, (5, 200, 220))
    assert zero_beam_level(picture.astype(np.float32), (0.0, -2048.0)) is None
