"""Frames drawn by hand: a trunk, a side vein, a drifting edge of gas, a band there before."""

import numpy as np
from scipy.ndimage import gaussian_filter

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.false_strands import Filling, without_false
from coilwright.venogram.tree import Attachment, Strand

SIZE = 200
FRAMES = 16
MASK, FULL = (0, 1, 2), (10, 11, 12, 13, 14, 15)
SCALE = np.full((SIZE, SIZE), 2.0, dtype=np.float32)


def band(row: int, height: float, *, dark_beside: float = 0.0) -> np.ndarray:
    picture = np.zeros((SIZE, SIZE))
    picture[row - 2 : row + 3, 104:180] = height
    picture[row + 3 : row + 9, 104:180] = -dark_beside
    return np.asarray(gaussian_filter(picture, 1.0))


def frames(side: np.ndarray, shown_from: int) -> np.ndarray:
    """Contrast in the trunk from frame 6 on, and a band across from a frame on."""
    trunk = np.zeros((SIZE, SIZE))
    trunk[:, 97:104] = 0.5
    random = np.random.default_rng(4)
    stack = random.normal(0, 0.005, (FRAMES, SIZE, SIZE))
    stack[6:] += gaussian_filter(trunk, 1.0)
    stack[shown_from:] += side
    return np.asarray(stack, dtype=np.float32)


def strands(row: int) -> list[Strand]:
    trunk = np.column_stack([np.full(SIZE, 100.0), np.arange(SIZE, dtype=np.float64)])
    across = np.arange(100.0, 178.0)
    joined = Attachment(own_end=OwnEnd.START, parent=0, at_xy=(100.0, float(row)))
    return [
        Strand(kind=VesselKind.TRUNK, points_xy=trunk),
        Strand(
            kind=VesselKind.SIDE_VEIN,
            points_xy=np.column_stack([across, np.full(len(across), float(row))]),
            attachments=(joined,),
        ),
    ]


def kept(stack: np.ndarray) -> int:
    filling = Filling(frames=stack, mask_frames=MASK, full_frames=FULL)
    return len(without_false(strands(80), filling, SCALE))


def test_a_faint_side_vein_that_fills_after_the_trunk_is_kept() -> None:
    assert kept(frames(band(80, 0.05), 8)) == 2


def test_a_side_vein_that_fills_at_the_very_end_is_kept() -> None:
    assert kept(frames(band(80, 0.1), 14)) == 2


def test_a_bright_band_with_a_dark_one_beside_it_is_dropped() -> None:
    assert kept(frames(band(80, 0.1, dark_beside=0.1), 8)) == 1


def test_a_band_that_shows_before_contrast_comes_is_dropped() -> None:
    assert kept(frames(band(80, 0.1), 3)) == 1


def test_without_mask_frames_nothing_is_judged() -> None:
    stack = frames(band(80, 0.1, dark_beside=0.1), 8)
    filling = Filling(frames=stack, mask_frames=(), full_frames=FULL)
    assert len(without_false(strands(80), filling, SCALE)) == 2
