import numpy as np
import pytest
from scipy.ndimage import fourier_shift, gaussian_filter
from skimage.transform import EuclideanTransform

from coilwright.venogram.motion import carried, carried_back, from_frame


def scene(seed: int = 1) -> np.ndarray:
    random = np.random.default_rng(seed)
    smooth = gaussian_filter(random.normal(size=(256, 256)), 5.0, mode="wrap")
    return np.asarray(smooth / smooth.std() * 0.2, dtype=np.float32)


@pytest.mark.parametrize("shift_px", [(0.6, -1.3), (3.4, 2.2), (-5.0, 0.5)])
def test_a_shift_carries_the_picture_as_the_fourier_theorem_does(
    shift_px: tuple[float, float],
) -> None:
    # Reference: scipy.ndimage.fourier_shift moves the periodic picture exactly.
    picture = scene()
    moved = np.fft.ifft2(fourier_shift(np.fft.fft2(picture), (shift_px[1], shift_px[0]))).real
    inside = np.s_[12:-12, 12:-12]
    found = carried(picture, np.array([*shift_px, 0.0]))
    assert found[inside] == pytest.approx(moved[inside], abs=0.01)


def test_carried_back_undoes_carried() -> None:
    picture, pose = scene(), np.array([2.3, -1.7, 0.01])
    inside = np.s_[12:-12, 12:-12]
    there_and_back = carried_back(carried(picture, pose), pose)
    assert there_and_back[inside] == pytest.approx(picture[inside], abs=0.01)


def test_no_motion_returns_the_very_same_pixels() -> None:
    picture = scene()
    assert carried(picture, np.zeros(3)) is picture
    assert carried_back(picture, np.zeros(3)) is picture


def test_poses_from_another_frame_compose_as_rigid_motions_do() -> None:
    # Reference: scikit-image's EuclideanTransform, composed by matrix product.
    poses = np.array([[0.0, 0.0, 0.0], [4.0, -2.0, 0.02], [-1.0, 3.0, -0.015]])
    matrices = [EuclideanTransform(translation=p[:2], rotation=p[2]).params for p in poses]
    moved = from_frame(poses, 1)
    for pose, matrix in zip(moved, matrices, strict=True):
        expected = matrix @ np.linalg.inv(matrices[1])
        found = EuclideanTransform(translation=pose[:2], rotation=pose[2]).params
        assert found == pytest.approx(expected, abs=1e-9)
