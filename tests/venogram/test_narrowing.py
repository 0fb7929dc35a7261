import numpy as np
import pytest

from coilwright.venogram.narrowing import find_narrowings

ARC_MM = np.arange(0.0, 150.0, 0.5)
SD_MM = np.full_like(ARC_MM, 0.05)


def test_a_focal_spasm_is_found_with_the_taper_as_relaxed_calibre() -> None:
    # Closed form: 6 mm tapering to 4.5 mm, halved around 60 mm; the taper there is 5.4 mm.
    taper = 6.0 - 1.5 * ARC_MM / 150.0
    diameter = taper * (1 - 0.4 * np.exp(-(((ARC_MM - 60.0) / 5.0) ** 2)))
    (narrowing,) = find_narrowings(ARC_MM, diameter, SD_MM)
    assert narrowing.from_mm < 57
    assert narrowing.to_mm > 63
    assert narrowing.relaxed_diameter_mm == pytest.approx(5.4, abs=0.15)
    assert narrowing.relaxed_sd_mm is not None


def test_taper_and_slow_undulation_are_no_narrowing() -> None:
    diameter = 6.0 - 2.0 * ARC_MM / 150.0 + 0.3 * np.sin(ARC_MM / 12.0)
    assert find_narrowings(ARC_MM, diameter, SD_MM) == ()


def test_an_evenly_narrow_trunk_has_no_narrowing_and_no_relaxed_calibre_made_up() -> None:
    # The whole trunk in spasm looks like a thin vein: nothing on the picture tells its calibre.
    assert find_narrowings(ARC_MM, np.full_like(ARC_MM, 2.0), SD_MM) == ()
