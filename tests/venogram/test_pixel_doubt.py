"""Lossy pixels and fluoroscopy widen what is said of every width; the figures are our own."""

from dataclasses import replace

import pytest
from pydicom.dataset import FileDataset, FileMetaDataset
from pydicom.uid import UID, ExplicitVRLittleEndian, JPEGBaseline8Bit

from coilwright.veins import Calibration, CalibrationMethod
from coilwright.venogram.pixel_doubt import (
    FLUOROSCOPY_SD_PX,
    LOSSY_SD_PX,
    LOSSY_SD_PX_MOST,
    PixelDoubt,
    doubted,
    pixel_doubt,
    with_doubt,
)
from veins.maps import MM, hand_map


def header(syntax: UID = ExplicitVRLittleEndian, **attributes: object) -> FileDataset:
    meta = FileMetaDataset()
    meta.TransferSyntaxUID = syntax
    dataset = FileDataset("", {}, file_meta=meta)
    for keyword, value in attributes.items():
        setattr(dataset, keyword, value)
    return dataset


def lossy(*ratios: float) -> FileDataset:
    return header(LossyImageCompression="01", LossyImageCompressionRatio=list(ratios))


def test_a_run_as_acquired_casts_no_doubt() -> None:
    assert pixel_doubt(header(RadiationSetting="GR")).width_sd_px == 0.0
    # "00": PS3.3 C.7.6.1.1.5, not lossy.
    assert pixel_doubt(header(LossyImageCompression="00")).width_sd_px == 0.0


def test_the_doubt_grows_with_the_root_of_the_ratio() -> None:
    # 60 to 1 is four times 15 to 1.
    assert pixel_doubt(lossy(60)).width_sd_px == pytest.approx(2.0 * LOSSY_SD_PX)
    assert pixel_doubt(lossy(4)).width_sd_px == LOSSY_SD_PX
    assert pixel_doubt(lossy(100_000)).width_sd_px == LOSSY_SD_PX_MOST


def test_of_several_steps_the_strongest_counts() -> None:
    assert pixel_doubt(lossy(60, 2)) == pixel_doubt(lossy(60))


def test_a_syntax_that_always_loses_counts_whatever_the_header_says() -> None:
    # JPEG baseline, PS3.5 A.4.1.
    assert pixel_doubt(header(JPEGBaseline8Bit)).width_sd_px == LOSSY_SD_PX


def test_fluoroscopy_and_loss_add_as_squares() -> None:
    # Radiation Setting SC: PS3.3 C.8.7.2.1.
    both = lossy(15)
    both.RadiationSetting = "SC"
    expected = (LOSSY_SD_PX**2 + FLUOROSCOPY_SD_PX**2) ** 0.5
    assert pixel_doubt(both).width_sd_px == pytest.approx(expected)


def test_every_calibre_is_widened_by_the_doubt_in_millimetres() -> None:
    before = hand_map()
    after = with_doubt(before, PixelDoubt(width_sd_px=0.96))
    # 0.96 px at 0.25 mm is 0.24 mm; with the hand map's 0.1 mm: sqrt(0.0576 + 0.01) = 0.26.
    assert MM == 0.25
    assert set(after.vessels[0].diameter_sd_mm) == {0.26}
    # The narrowing's own 0.2 mm: sqrt(0.0576 + 0.04) = 0.3124.
    assert after.vessels[0].narrowings[0].relaxed_sd_mm == pytest.approx(0.3124, abs=1e-4)
    assert after.vessels[0].diameter_mm == before.vessels[0].diameter_mm
    assert with_doubt(before, PixelDoubt()) is before


def test_a_catheters_width_is_in_as_much_doubt() -> None:
    # 6 F is 2.0 mm, at 0.25 mm 8 px: 0.24 px are 3 %, with the fit's own 4 % make 5 %.
    by_catheter = Calibration(
        mm_per_pixel=0.25, relative_sd=0.04, method=CalibrationMethod.CATHETER, catheter_fr=6.0
    )
    doubt = PixelDoubt(width_sd_px=0.24)
    assert doubted(by_catheter, doubt).relative_sd == pytest.approx(0.05)
    given = replace(by_catheter, method=CalibrationMethod.GIVEN)
    assert doubted(given, doubt) == given
