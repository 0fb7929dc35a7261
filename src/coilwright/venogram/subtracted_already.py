"""Runs that were subtracted before they were stored."""

from collections.abc import Iterable

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.veins import Notice
from coilwright.venogram.subtraction import SubtractedRun

Float = npt.NDArray[np.float32]

ALREADY_SUBTRACTED = Notice(
    code="already-subtracted",
    text="the run was stored already subtracted: measured as it is, without a second subtraction; "
    "bone and catheter are not in it: neither the catheter's width nor its tip was measured, and "
    "its filled lumen may pass for a vein",
)
COARSE, FINE = 32, 256
# Rendered runs and those of a plastic phantom lie above 0.15, the same subtracted below 0.09 (4 mm
# of motion left in); with the header's word for it, more is allowed.
FLATTEST_BODY = 0.12
FLAT_ENOUGH_IF_STATED = 0.5
# The grey of "no change" lies about the middle of the range, by common practice (no source).
FARTHEST_FROM_MIDDLE = 0.2


def is_subtracted(
    frames: Iterable[Float], lowest: float, highest: float, *, header_says_so: bool = False
) -> bool:
    """Whether stored frames are a subtraction: a flat grey about the middle, bones gone.

    Parameters
    ----------
    frames : (rows, columns) each, stored; a few will do
    lowest, highest : ends of the range that stored values can take
    """
    spread, detail, level = zip(*(_ground(frame) for frame in frames), strict=True)
    if max(detail) <= 0:
        return False
    flatness = min(spread) / max(detail)
    if header_says_so:
        return bool(flatness < FLAT_ENOUGH_IF_STATED)
    off_middle = abs(float(np.median(level)) - (lowest + highest) / 2.0) / (highest - lowest)
    return bool(flatness < FLATTEST_BODY and off_middle < FARTHEST_FROM_MIDDLE)


def first_to_last(count: int) -> list[int]:
    """First, last and a few frames between: enough to tell what kind of run it is."""
    return [int(n) for n in np.unique(np.linspace(0, count - 1, 5).round())]


def _ground(frame: Float) -> tuple[float, float, float]:
    """Spread of the coarse picture, strength of its strongest detail, and its usual level."""
    coarse = cv2.resize(frame, (COARSE, COARSE), interpolation=cv2.INTER_AREA)
    fine = cv2.resize(frame, (FINE, FINE), interpolation=cv2.INTER_AREA)
    smooth = cv2.resize(coarse, (FINE, FINE), interpolation=cv2.INTER_LINEAR)
    low, level, high = np.percentile(coarse, (10, 50, 90))
    # 10th to 90th percentile of a normal distribution: 2.563 standard deviations.
    detail = float(np.percentile(np.abs(fine - smooth), 99.5))
    return float(high - low) / 2.563, detail, float(level)


def as_stored(absorbed: Float) -> SubtractedRun:
    """The frames of a run that was subtracted already, each about its own level."""
    level = np.median(absorbed[:, ::4, ::4], axis=(1, 2), keepdims=True)
    return SubtractedRun(
        frames=absorbed - level,
        mask=np.zeros_like(absorbed[0]),
        field=np.ones(absorbed.shape[1:], dtype=np.bool_),
        mask_frames=(),
        reference_frame=0,
        shifts_px=np.zeros((len(absorbed), 2)),
        notices=(ALREADY_SUBTRACTED,),
    )
