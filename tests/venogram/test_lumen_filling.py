"""Mask frames in which the catheter already holds contrast are told and left out."""

import numpy as np
import pytest

from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.course import smooth_course
from coilwright.venogram.lumen_filling import without_filled_lumen
from coilwright.venogram.subtraction import SubtractedRun

FILLS_AT = 4


def run_in_which_the_lumen_fills(mask_frames: tuple[int, ...], filled: float) -> SubtractedRun:
    """A line of contrast down the middle from frame ``FILLS_AT`` on, under even noise."""
    random = np.random.default_rng(20)
    absorbed = random.normal(1.0, 0.01, (10, 120, 60)).astype(np.float32)
    absorbed[FILLS_AT:, :, 29:32] += np.float32(filled)
    mask = absorbed[list(mask_frames)].mean(0)
    return SubtractedRun(
        frames=absorbed - mask,
        mask=mask,
        field=np.ones((120, 60), dtype=np.bool_),
        mask_frames=mask_frames,
        reference_frame=mask_frames[-1],
        shifts_px=np.zeros((10, 2)),
        notices=(),
    )


CATHETER = CatheterCourse(
    course=smooth_course(np.array([[30.0, 2.0], [30.0, 60.0], [30.0, 117.0]]), 0.0),
    look_radius_px=3.0,
)


def test_frames_with_a_filled_lumen_leave_the_mask() -> None:
    found = without_filled_lumen(run_in_which_the_lumen_fills((0, 1, 2, 3, 4, 5), 0.15), CATHETER)
    assert found.mask_frames == (0, 1, 2, 3)
    # Drawn: before it filled there was nothing in the lumen, afterwards 0.15.
    assert found.mask[10:110, 30].mean() == pytest.approx(1.0, abs=0.005)
    assert found.frames[8][10:110, 30].mean() == pytest.approx(0.15, abs=0.005)


@pytest.mark.parametrize("filled", [0.15, 0.0])
def test_a_mask_from_before_contrast_stays_as_it_is(filled: float) -> None:
    run = run_in_which_the_lumen_fills((0, 1, 2, 3), filled)
    assert without_filled_lumen(run, CATHETER) is run
