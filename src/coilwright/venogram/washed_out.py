"""Runs that start with contrast and lose it: their last frames serve as the mask."""

from dataclasses import replace

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.veins import Notice
from coilwright.venogram.subtraction import SubtractedRun, find_mask_frames, subtract

Float = npt.NDArray[np.float32]

LATE_MASK = Notice(
    code="late-mask",
    text="contrast is there from the first frame: the last frames, after it has washed out, serve "
    "as the mask; whatever stays filled in them is lost, and arrival before the first frame is "
    "not known",
)


# Contrast changes one side alone; motion and noise change both.
ONE_SIDED = 2.0
ENDS = 2
SMALL = 256


def _loses_contrast(absorbed: Float) -> bool:
    """Whether much less is absorbed somewhere at the end than at first, and nowhere much more."""
    if len(absorbed) < 2 * ENDS:
        return False
    change = absorbed[-ENDS:].mean(0) - absorbed[:ENDS].mean(0)
    small = cv2.GaussianBlur(
        cv2.resize(change, (SMALL, SMALL), interpolation=cv2.INTER_AREA), (0, 0), 1.5
    )
    low, middle, high = np.percentile(small, (0.2, 50, 99.8))
    return bool(middle - low > ONE_SIDED * (high - middle))


def subtract_from_end(absorbed: Float) -> SubtractedRun | None:
    """The run subtracted by its last frames; None where contrast arrives or never leaves.

    A washout seen backwards is an arrival.
    """
    backwards = absorbed[::-1]
    if not _loses_contrast(absorbed) or not find_mask_frames(backwards):
        return None
    found = subtract(backwards, None)
    if not found.mask_frames:
        return None
    last = len(absorbed) - 1
    return replace(
        found,
        frames=found.frames[::-1],
        mask_frames=tuple(sorted(last - frame for frame in found.mask_frames)),
        reference_frame=last - found.reference_frame,
        shifts_px=found.shifts_px[::-1],
        poses=None,
        notices=(*found.notices, LATE_MASK),
    )
