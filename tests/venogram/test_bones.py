"""Where one picture lies on another, against shifts that were made by hand."""

import numpy as np
import numpy.typing as npt
import pytest
from scipy.ndimage import gaussian_filter

from coilwright.veins import RunPlace
from coilwright.venogram.bones import (
    Bones,
    bones_of,
    find_near,
    find_place,
    kept_bones,
    stored,
)

Float = npt.NDArray[np.float32]


def texture(seed: int) -> Float:
    """A wide field of blobs some 10 pixels in size, as bone trabeculae and edges are."""
    noise = np.random.default_rng(seed).normal(size=(900, 700))
    return np.asarray(gaussian_filter(noise, 5.0), dtype=np.float32)


def window(picture: Float, row: int, column: int, size: int = 440) -> Bones:
    cut = picture[row : row + size, column : column + size]
    return bones_of(cut, np.ones(cut.shape, dtype=np.bool_))


@pytest.mark.parametrize("shift", [(0, 0), (0, 37), (-25, 60), (14, 250)])
def test_a_window_is_found_where_it_was_cut(shift: tuple[int, int]) -> None:
    picture = texture(1)
    across, down = shift
    found = find_place(window(picture, 100 + down, 60 + across), window(picture, 100, 60))
    assert found is not None
    # One pixel of the small pictures is 440 / 192 = 2.3 pixels: found to a third of it.
    assert found.shift_xy == pytest.approx(shift, abs=0.8)


def test_pictures_without_anything_in_common_are_not_laid_on_each_other() -> None:
    assert find_place(window(texture(1), 0, 0), window(texture(2), 0, 0)) is None


def test_a_place_far_from_the_tables_word_is_not_taken_for_it() -> None:
    picture = texture(3)
    fixed, moving = window(picture, 0, 0), window(picture, 120, 0)
    near = find_near(moving, fixed, (0.0, 110.0), 30.0)
    assert near is not None
    assert near.shift_xy == pytest.approx((0.0, 120.0), abs=0.8)
    assert find_near(moving, fixed, (0.0, 0.0), 30.0) is None


def test_only_what_both_fields_show_counts() -> None:
    picture = texture(4)
    lit = np.ones((440, 440), dtype=np.bool_)
    lit[:, :150] = False
    shuttered = np.where(lit, picture[60:500, 0:440], np.float32(9.0))
    found = find_place(bones_of(shuttered, lit), window(picture, 0, 0))
    assert found is not None
    assert found.shift_xy == pytest.approx((0.0, 60.0), abs=0.8)


def test_another_magnification_is_taken_out_by_its_ratio() -> None:
    # Every second pixel of a smooth picture is the same picture at twice the millimetres a pixel.
    picture = texture(5)
    half = gaussian_filter(picture, 0.7)[40:480:2, 20:460:2].astype(np.float32)
    found = find_place(
        bones_of(half, np.ones(half.shape, dtype=np.bool_), 2.0), window(picture, 0, 0)
    )
    assert found is not None
    assert found.shift_xy == pytest.approx((20.0, 40.0), abs=1.2)


def test_bones_kept_in_a_map_find_the_place_again() -> None:
    picture = texture(6)
    place = stored(RunPlace(primary_angle_deg=3.0), window(picture, 0, 0))
    assert place.primary_angle_deg == 3.0
    kept = kept_bones(place)
    assert kept is not None
    found = find_place(window(picture, 80, 30), kept)
    assert found is not None
    assert found.shift_xy == pytest.approx((30.0, 80.0), abs=0.8)


@pytest.mark.parametrize("text", [None, "no base 64!", "aGVsbG8="])
def test_a_map_without_a_readable_picture_keeps_no_bones(text: str | None) -> None:
    assert kept_bones(RunPlace(bones_png=text, bones_px=2.0)) is None
