"""From stored pixels to absorption, on a run made from photon counts by closed forms alone."""

from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from coilwright.veins import Notice
from coilwright.venogram.absorption import absorption
from coilwright.venogram.header_geometry import HeaderGeometry
from coilwright.venogram.run_file import PixelRelationship, RunFile
from coilwright.venogram.stored_frames import StoredFrames
from coilwright.venogram.subtracted_already import is_subtracted
from coilwright.venogram.washed_out import subtract_from_end

Float = npt.NDArray[np.float32]

SIZE, FRAMES = 256, 12
NO_GEOMETRY = HeaderGeometry(
    imager_spacing_mm=None,
    source_to_detector_mm=None,
    source_to_patient_mm=None,
    stated_magnification=None,
    calibrated_spacing_mm=None,
    calibration_type=None,
)
# Contrast arrives in frame 4; the vein adds 0.7 nepers in its middle.
VEIN_NEPERS, ONSET = 0.7, 4
MIDDLE = (slice(40, 216), slice(126, 131))
BESIDE = (slice(40, 216), slice(60, 90))


def thickness() -> Float:
    """A straight vein of radius 6 down the middle: chord of a circle."""
    column = np.arange(SIZE) - 128.0
    chord = np.sqrt(np.maximum(36.0 - column**2, 0.0)) / 6.0
    return np.tile(chord.astype(np.float32), (SIZE, 1))


def body_nepers() -> Float:
    row, column = np.mgrid[:SIZE, :SIZE] / SIZE
    return np.asarray(0.8 * column + 0.6 * np.sin(5 * row) ** 2, dtype=np.float32)


def beam(order: slice = slice(None), photons: float = 4000.0) -> Float:
    """Photons counted in each pixel of each frame."""
    rng = np.random.default_rng(11)
    filled = np.clip((np.arange(FRAMES) - ONSET + 1) / 3.0, 0.0, 1.0)[order]
    nepers = body_nepers() + VEIN_NEPERS * filled[:, None, None] * thickness()
    return rng.poisson(photons * np.exp(-nepers)).astype(np.float32)


def run_of(
    stored: Float,
    relationship: PixelRelationship,
    lowest: float = 0.0,
    highest: float = 4095.0,
    **changes: object,
) -> RunFile:
    """A run of whole numbers, as they come out of the modality transform."""
    least = float(stored.min())
    frames = StoredFrames(
        numbers=(stored - least).astype(np.uint16),
        table=np.arange(2**16, dtype=np.float32) + np.float32(least),
        lowest=lowest,
        highest=highest,
    )
    fields: dict[str, object] = {
        "file": Path("run.dcm"),
        "sop_instance_uid": "2.25.1",
        "frames": frames,
        "relationship": relationship,
        "higher_is_less_beam": None,
        "shown_inverted": False,
        "frame_times_s": None,
        "geometry": NO_GEOMETRY,
    }
    return RunFile(**(fields | changes))  # type: ignore[arg-type]  # fields of several types


def gained(frames: Float, early: int = 0, late: int = -1) -> float:
    """Nepers that the vein's middle gains over its surroundings."""
    change = frames[late] - frames[early]
    return float(change[MIDDLE].mean() - change[BESIDE].mean())


@pytest.mark.parametrize("offset", [0.0, -2048.0])
def test_linear_pixels_give_the_nepers_of_the_vein(offset: float) -> None:
    lowest = min(offset, 0.0)
    run = run_of(
        beam() + np.float32(offset),
        PixelRelationship.LIN,
        lowest=lowest,
        highest=lowest + 4095.0,
    )
    found = absorption(run)
    assert found.densitometric
    # Mean chord over the middle five columns: sqrt(1 - k^2 / 36) for k = -2..2, by hand 0.9716.
    assert gained(found.frames) == pytest.approx(0.9716 * VEIN_NEPERS, rel=0.02)


def test_linear_pixels_with_an_unknown_zero_are_not_measured_by_density() -> None:
    run = run_of(beam() - 1000.0, PixelRelationship.LIN, lowest=-2048.0)
    found = absorption(run)
    assert not found.densitometric
    assert [notice.code for notice in found.notices] == ["no-zero-of-beam"]


@pytest.mark.parametrize("order", [slice(None), slice(None, None, -1)])
@pytest.mark.parametrize("inverted", [False, True])
def test_contrast_adds_whether_it_arrives_or_leaves_and_whichever_way_pixels_run(
    order: slice, inverted: bool
) -> None:
    stored = beam(order)
    stored = np.float32(4095.0) - stored if inverted else stored
    # The header says nothing of the direction: the vein itself shows it.
    found = absorption(run_of(stored, PixelRelationship.LIN))
    early, late = (0, -1) if order.step is None else (-1, 0)
    assert gained(found.frames, early, late) == pytest.approx(0.68, abs=0.03)


def test_a_washout_is_subtracted_by_its_last_frames() -> None:
    absorbed = absorption(run_of(beam(slice(None, None, -1)), PixelRelationship.LIN)).frames
    found = subtract_from_end(absorbed)
    assert found is not None
    # Contrast is gone from frame 12 - 4 = 8 on.
    assert set(found.mask_frames) <= {8, 9, 10, 11}
    assert len(found.mask_frames) >= 2
    assert gained(np.stack([found.mask * 0, found.frames[0]])) == pytest.approx(0.68, abs=0.03)
    assert found.notices == (notice_of("late-mask", found.notices),)


def notice_of(code: str, notices: tuple[Notice, ...]) -> Notice:
    return next(notice for notice in notices if notice.code == code)


def test_a_run_in_which_contrast_arrives_is_not_subtracted_from_its_end() -> None:
    assert subtract_from_end(absorption(run_of(beam(), PixelRelationship.LIN)).frames) is None


def subtracted_8_bit() -> Float:
    """What a console stores: 128 where nothing changed, the vein darker; logarithms by numpy."""
    nepers = -np.log(np.maximum(beam(), 1.0))
    change = nepers - nepers[:3].mean(0)
    return np.asarray(np.clip(np.rint(128 - 120 * change), 0, 255), dtype=np.float32)


def test_a_subtracted_run_is_told_from_a_plain_one() -> None:
    assert is_subtracted(subtracted_8_bit(), 0.0, 255.0)
    assert is_subtracted(subtracted_8_bit()[-1:], 0.0, 255.0)
    plain = beam()
    assert not is_subtracted(plain, 0.0, float(plain.max()))
    assert not is_subtracted(np.log(plain + 1), 0.0, float(np.log(plain.max() + 1)))
    assert not is_subtracted(np.full((3, SIZE, SIZE), 128, np.float32), 0.0, 255.0)


@pytest.mark.parametrize("turn", [1.0, -1.0])
def test_contrast_of_a_subtracted_run_adds_whichever_side_it_lies_on(turn: float) -> None:
    stored = np.float32(128.0) + np.float32(turn) * (subtracted_8_bit() - 128)
    run = run_of(stored, PixelRelationship.DISP, highest=255.0, already_subtracted=True)
    found = absorption(run)
    assert not found.densitometric
    assert gained(found.frames) > 0.5
