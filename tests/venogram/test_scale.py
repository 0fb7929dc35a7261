import pytest

from coilwright.veins import CalibrationMethod
from coilwright.venogram import scale_sentence
from coilwright.venogram.catheter_width import CatheterWidth
from coilwright.venogram.header_geometry import HeaderGeometry
from coilwright.venogram.scale import ScaleChoice, catheter_scale, header_scale, operator_scale

GEOMETRY = HeaderGeometry(
    imager_spacing_mm=(0.308, 0.308),
    source_to_detector_mm=1100.0,
    source_to_patient_mm=750.0,
    stated_magnification=None,
    calibrated_spacing_mm=None,
    calibration_type=None,
)
NO_GEOMETRY = HeaderGeometry(
    imager_spacing_mm=None,
    source_to_detector_mm=None,
    source_to_patient_mm=None,
    stated_magnification=None,
    calibrated_spacing_mm=None,
    calibration_type=None,
)


def width(diameter_px: float) -> CatheterWidth:
    return CatheterWidth(radius_px=diameter_px / 2, relative_sd=0.01, lumen_ratio=0.6, pieces=12)


def test_five_french_over_six_and_a_half_pixels() -> None:
    # CLINICAL.md section 9.1: 5 F = 1.6667 mm; 6.5 px -> 0.2564 mm/px; 20 px vein -> 5.13 mm.
    scale = catheter_scale(width(6.5), 5.0, NO_GEOMETRY, densitometric=True)
    assert scale.mm_per_pixel == pytest.approx(0.2564, abs=5e-5)
    assert 20 * scale.mm_per_pixel == pytest.approx(5.13, abs=5e-3)


def test_agreement_with_the_header_raises_no_warning() -> None:
    # 0.2100 mm per pixel by the header: 5 F is 7.94 pixels wide.
    assert catheter_scale(width(7.94), 5.0, GEOMETRY, densitometric=True).warnings == ()


@pytest.mark.parametrize("wrong_fr", [4.0, 6.0, 7.0])
def test_a_wrong_french_size_is_followed_and_warned(wrong_fr: float) -> None:
    scale = catheter_scale(width(7.94), wrong_fr, GEOMETRY, densitometric=True)
    assert scale.mm_per_pixel == pytest.approx(0.2100 * wrong_fr / 5.0, rel=1e-3)
    (warning,) = scale.warnings
    assert warning.code == "catheter-header-disagree"
    assert "5.0 F" in warning.text


def test_ruler_and_given_scale() -> None:
    # By hand: a 3-4-5 triangle, 50 px for 20 mm.
    ruler = operator_scale(ScaleChoice(ruler_px=(10.0, 10.0, 40.0, 50.0), ruler_mm=20.0))
    assert ruler is not None
    assert ruler.mm_per_pixel == pytest.approx(0.4)
    assert ruler.method is CalibrationMethod.RULER
    given = operator_scale(ScaleChoice(mm_per_pixel=0.3))
    assert given is not None
    assert given.method is CalibrationMethod.GIVEN
    assert operator_scale(ScaleChoice(catheter_fr=5.0)) is None


def test_header_scale_says_that_depth_is_unknown() -> None:
    scale = header_scale(GEOMETRY)
    assert scale is not None
    assert [warning.code for warning in scale.warnings] == ["depth-unknown"]
    assert scale.relative_sd >= 0.04
    assert header_scale(NO_GEOMETRY) is None


def test_the_labels_that_a_scale_rests_on_are_told_with_it() -> None:
    # What was stated, word for word: 5 F and 0.97 mm.
    scale = catheter_scale(width(6.5), 5.0, NO_GEOMETRY, densitometric=True, lumen_mm=0.97)
    assert scale.catheter_words == "5 F, lumen 0.97 mm by its label"
    assert "(5 F, lumen 0.97 mm by its label)" in scale_sentence(scale)
    assert catheter_scale(width(6.5), 5.0, NO_GEOMETRY, densitometric=True).catheter_words == "5 F"
