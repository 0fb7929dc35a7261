import numpy as np
import pytest

from coilwright.venogram.blur import certain_blur
from coilwright.venogram.catheter_width import fit_width
from coilwright.venogram.course import smooth_course, straighten
from venogram.drawn import effective_sigma_px, straight_tube, tube_axis


@pytest.mark.parametrize("radius_px", [3.0, 4.5, 7.0])
@pytest.mark.parametrize("lumen", [0.56, 0.62, 0.68])
def test_width_of_a_tube_with_a_lumen(radius_px: float, lumen: float) -> None:
    # Closed form: the tube is drawn with this radius. Two per cent with noise, lumen unknown.
    picture = straight_tube(
        radius_px=radius_px, sigma_px=0.8, peak=0.4, angle_deg=12.0, lumen=lumen, noise=0.006
    )
    course = smooth_course(tube_axis(200, 12.0, 84), 0.0)
    half = round(3.2 * radius_px + 3)
    across = np.arange(-half, half + 1.0)
    strip = straighten(picture, course, across)
    pieces = np.array([strip[i * 14 : (i + 1) * 14].mean(0) for i in range(len(strip) // 14)])
    blur = certain_blur(effective_sigma_px(0.8), 0.0)
    width = fit_width(pieces, across, np.ones(len(pieces)), 1.1 * radius_px, blur)
    assert width is not None
    assert width.radius_px == pytest.approx(radius_px, rel=0.025)


def test_too_few_pieces_give_no_width() -> None:
    across = np.arange(-12.0, 13.0)
    blur = certain_blur(1.0, 0.0)
    assert fit_width(np.zeros((2, 25)), across, np.ones(2), 3.0, blur) is None
