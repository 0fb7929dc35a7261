import numpy as np
import pytest
from scipy.ndimage import fourier_shift, gaussian_filter

from coilwright.venogram.motion import frame_shift_px, reference_of, shifted


def scene(seed: int = 1, noise: float = 0.0) -> np.ndarray:
    random = np.random.default_rng(seed)
    smooth = gaussian_filter(random.normal(size=(256, 256)), 5.0, mode="wrap")
    picture = smooth / smooth.std() * 0.2 + noise * random.normal(size=smooth.shape)
    return np.asarray(picture, dtype=np.float32)


@pytest.mark.parametrize("shift_px", [(0.6, -1.3), (3.4, 2.2), (-5.0, 0.5)])
def test_known_shift_is_found(shift_px: tuple[float, float]) -> None:
    # Reference: scipy.ndimage.fourier_shift moves the periodic picture exactly.
    picture = scene()
    moved = np.fft.ifft2(fourier_shift(np.fft.fft2(picture), (shift_px[1], shift_px[0]))).real
    found = frame_shift_px(moved.astype(np.float32), reference_of(picture))
    assert found == pytest.approx(shift_px, abs=0.08)


def test_still_noisy_frame_is_left_alone() -> None:
    still = scene()
    noisy = still + np.random.default_rng(5).normal(0, 0.03, still.shape).astype(np.float32)
    assert frame_shift_px(noisy, reference_of(still)) == (0.0, 0.0)


def test_arriving_contrast_is_not_taken_for_motion() -> None:
    still = scene()
    vein = np.zeros_like(still)
    vein[:, 120:132] = 0.5
    assert frame_shift_px(still + vein, reference_of(still)) == (0.0, 0.0)


def test_no_shift_returns_the_very_same_pixels() -> None:
    picture = scene()
    assert shifted(picture, (0.0, 0.0)) is picture
