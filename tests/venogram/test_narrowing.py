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


def test_a_trunk_narrow_from_end_to_end_has_no_relaxed_calibre_made_up() -> None:
    # Practitioner's review, needed and missing 2: never the taper, where no normal neighbour is.
    (whole,) = find_narrowings(ARC_MM, np.full_like(ARC_MM, 1.8), SD_MM)
    assert (whole.from_mm, whole.to_mm) == (ARC_MM[0], ARC_MM[-1])
    assert (whole.relaxed_diameter_mm, whole.relaxed_sd_mm) == (None, None)


def test_a_trunk_of_a_healthy_width_is_not_called_clamped_down() -> None:
    assert find_narrowings(ARC_MM, np.full_like(ARC_MM, 3.0), SD_MM) == ()
