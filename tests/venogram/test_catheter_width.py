from functools import partial

import numpy as np
import pytest
from numpy.typing import NDArray

from coilwright.venogram.blur import certain_blur
from coilwright.venogram.catheter_width import (
    CatheterWidth,
    ExpectedLumen,
    Pieces,
    expected_lumen,
    fit_width,
)
from coilwright.venogram.course import smooth_course
from coilwright.venogram.raw_profiles import stretches
from venogram.drawn import effective_sigma_px, filled_tube_contrast, straight_tube, tube_axis

SIGMA_PX = 0.8


def measured_width(
    radius_px: float,
    lumen: float,
    angle_deg: float,
    *,
    expected: float | ExpectedLumen,
    filled: bool,
) -> CatheterWidth | None:
    draw = partial(straight_tube, radius_px=radius_px, sigma_px=SIGMA_PX, angle_deg=angle_deg)
    walls = draw(peak=0.4, lumen=lumen, noise=0.006)
    contrast = np.zeros_like(walls)
    if filled:
        contrast = filled_tube_contrast(
            radius_px=radius_px,
            sigma_px=SIGMA_PX,
            angle_deg=angle_deg,
            peak=0.4,
            lumen=lumen,
            filled=0.5,
            noise=0.006,
        )
    course = smooth_course(tube_axis(200, angle_deg, 84), 0.0)
    size = 4.0 * radius_px
    starts = np.arange(0.0, course.length_px - size, size)
    found = stretches(walls.shape, course, starts, size, 3.2 * radius_px + 3)
    pieces = Pieces(
        walls=found.of(walls),
        contrast=found.of(contrast),
        pixels=found.pixels,
        across_px=found.across_px,
        beside_px=np.full(len(starts), 10.0 * radius_px if filled else 0.0),
    )
    blur = certain_blur(effective_sigma_px(SIGMA_PX), 0.0)
    if isinstance(expected, float):
        expected = ExpectedLumen(ratio=expected, sd=0.06)
    return fit_width(pieces, 1.1 * radius_px, blur, expected)


@pytest.mark.parametrize("radius_px", [3.0, 4.5, 7.0])
@pytest.mark.parametrize("lumen", [0.56, 0.62, 0.68])
@pytest.mark.parametrize("angle_deg", [12.0, 31.0])
def test_width_of_a_tube_with_a_lumen(radius_px: float, lumen: float, angle_deg: float) -> None:
    # Closed form: the tube is drawn with this radius. The lumen is unknown, its walls show it.
    width = measured_width(radius_px, lumen, angle_deg, expected=0.62, filled=False)
    assert width is not None
    assert width.radius_px == pytest.approx(radius_px, rel=0.02)


@pytest.mark.parametrize("radius_px", [2.1, 3.0, 4.5])
@pytest.mark.parametrize("lumen", [0.5, 0.72])
def test_contrast_in_the_lumen_settles_it(radius_px: float, lumen: float) -> None:
    # Closed form, as above; the lumen expected is far from the drawn one (2.5 % per 0.05).
    width = measured_width(radius_px, lumen, 21.0, expected=0.61, filled=True)
    assert width is not None
    assert width.lumen_ratio == pytest.approx(lumen, abs=0.03)
    assert width.radius_px == pytest.approx(radius_px, rel=0.012)


def test_a_labelled_lumen_settles_it_where_no_contrast_shows() -> None:
    # Closed form, as above: a lumen of 0.50 is two standard deviations from the usual one.
    radius_px, lumen = 3.0, 0.5
    label = expected_lumen(5.0, lumen_mm=lumen * 5.0 / 3.0)
    usual = measured_width(radius_px, lumen, 21.0, expected=0.62, filled=False)
    told = measured_width(radius_px, lumen, 21.0, expected=label, filled=False)
    assert usual is not None
    assert told is not None
    assert told.radius_px == pytest.approx(radius_px, rel=0.01)
    assert told.relative_sd < usual.relative_sd


def test_usual_lumens_lie_among_the_labelled_ones() -> None:
    # CLINICAL.md section 7: 4 F takes a wire of 0.035 to 0.038 in, 5 F one of 0.038 in.
    assert 0.035 * 25.4 <= expected_lumen(4.0).ratio * 4.0 / 3.0 <= 0.038 * 25.4
    assert expected_lumen(5.0).ratio * 5.0 / 3.0 >= 0.038 * 25.4


def flat(count: int) -> NDArray[np.float64]:
    return np.zeros((count, 25))


def test_too_few_pieces_give_no_width() -> None:
    across = np.broadcast_to(np.arange(-12.0, 13.0), (2, 25))
    pieces = Pieces(
        walls=flat(2), contrast=flat(2), pixels=flat(2) + 1, across_px=across, beside_px=np.zeros(2)
    )
    assert fit_width(pieces, 3.0, certain_blur(1.0, 0.0), expected_lumen(5.0)) is None
