"""Stored pixels to absorption: a picture in which contrast adds.

Contrast absorbs exponentially, so thicknesses add only in log space. For LIN pixels the log is
taken here; LOG pixels are already there up to a factor; display-processed pixels (DISP, or
unstated) are used as if they were LOG for finding vessels, and never for densitometry.
"""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.veins import Notice
from coilwright.venogram.linear_pixels import zero_beam_level
from coilwright.venogram.log_pixels import log_units_per_neper
from coilwright.venogram.run_file import PixelRelationship, RunFile

FloatStack = npt.NDArray[np.float32]

# From soft tissue to spine or hip within one picture; common practice, no source.
USUAL_SPAN_NEPERS = 2.0
# The strongest vessel of a subtracted run; common practice, no source.
USUAL_CONTRAST_NEPERS = 0.8
# Width, in bins of the picture, above which a shade counts as body rather than as vessel.
BODY_BINS = 4.0
ZERO_UNKNOWN = Notice(
    code="no-zero-of-beam",
    text="the header says LIN, but pixels go below zero and their noise does not show where the "
    "beam is zero: calibre by edge width, with a wide uncertainty, and no densitometry",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Absorption:
    """Absorption per frame in nepers, (frames, rows, columns), higher where more is absorbed.

    ``densitometric`` is true where differences are proportional to the thickness of contrast.
    """

    frames: FloatStack
    densitometric: bool
    notices: tuple[Notice, ...] = ()


def absorption(run: RunFile) -> Absorption:
    """Absorption of a run, in the direction in which contrast adds.

    References
    ----------
    Pixel Intensity Relationship: PS3.3 C.8.7.1.1.2; its sign: PS3.3 C.8.11.3.1.2.
    """
    values, lowest = run.stored, run.stored_minimum
    if run.already_subtracted:
        return _of_subtracted(run)
    if _rises_with_absorption(run):
        values, lowest = run.stored_maximum - values, 0.0
    if run.relationship is PixelRelationship.LIN:
        zero = _zero_of_beam(values, lowest)
        if zero is not None:
            return Absorption(frames=_minus_log(values - np.float32(zero)), densitometric=True)
        frames = -values / np.float32(_assumed_scale(values))
        return Absorption(frames=frames, densitometric=False, notices=(ZERO_UNKNOWN,))
    densitometric = run.relationship is PixelRelationship.LOG
    per_neper = (log_units_per_neper(values) if densitometric else None) or _assumed_scale(values)
    return Absorption(frames=-values / np.float32(per_neper), densitometric=densitometric)


def _minus_log(beam: FloatStack) -> FloatStack:
    """Absorption of LIN pixels; those without beam count as the least that was seen."""
    least = float(np.min(beam, where=beam > 0, initial=np.float32(np.inf)))
    greatest = max(float(beam.max()), 1e-6)
    floor = max(least if np.isfinite(least) else greatest, 1e-4 * greatest)
    return np.asarray(-np.log(np.maximum(beam, np.float32(floor))), dtype=np.float32)


def _zero_of_beam(values: FloatStack, lowest: float) -> float | None:
    """The LIN value of no beam: zero, unless the pixels were shifted; None where nothing tells."""
    if lowest == 0.0:
        return 0.0
    shown = zero_beam_level(values, (0.0, lowest))
    if shown is not None and float(values.min()) >= shown:
        return shown
    return 0.0 if float(values.min()) >= 0.0 else None


def _of_subtracted(run: RunFile) -> Absorption:
    """A run that was subtracted before: contrast lies to one side of the grey of no change."""
    level = np.median(run.stored[:, ::4, ::4], axis=(1, 2), keepdims=True)
    change = run.stored - level
    low, high = np.percentile(change[:, ::4, ::4], (0.2, 99.8))
    towards_more = 1.0 if high > -low else -1.0
    per_neper = max(high, -low, 1e-6) / USUAL_CONTRAST_NEPERS
    return Absorption(
        frames=change * np.float32(towards_more / per_neper),
        densitometric=run.relationship is PixelRelationship.LOG,
    )


def _assumed_scale(values: FloatStack) -> float:
    """Stored units per neper where nothing tells: the picture spans what a body usually does."""
    low, high = np.percentile(values[0, ::4, ::4], (1, 99))
    return max(float(high - low) / USUAL_SPAN_NEPERS, 1e-6)


def _rises_with_absorption(run: RunFile) -> bool:
    """Whether stored values rise where more is absorbed.

    What arrives during a run is contrast, so the largest change over time shows the direction;
    a run without change falls back on what the header says.
    """
    change = _one_sided_change(run.stored)
    if change is not None:
        return change > 0
    if run.higher_is_less_beam is not None:
        return run.higher_is_less_beam
    return run.shown_inverted


def _one_sided_change(stored: FloatStack) -> float | None:
    """Signed size of the largest lasting change by contrast, or None where no side stands out.

    Contrast may wash out instead of arriving: then the change is turned round.
    """
    if len(stored) < 3:
        return None
    binned = _binned(stored)
    edge = max(1, min(3, len(stored) // 4))
    first, last = binned[:edge].mean(0), binned[-2 * edge :].mean(0)
    change = last - first
    change -= np.median(change)
    low, high = np.percentile(change, (0.5, 99.5))
    noise = 1.4826 * float(np.median(np.abs(change)))
    larger = max(abs(low), abs(high))
    if larger < 4.0 * noise or larger < 1.5 * min(abs(low), abs(high)):
        return None
    largest = float(high if high > -low else low)
    changed = change * np.sign(largest) > 0.5 * abs(largest)
    washed_out = _stands_out(first, changed) > _stands_out(last, changed)
    return -largest if washed_out else largest


def _stands_out(picture: FloatStack, where: npt.NDArray[np.bool_]) -> float:
    """How far the picture differs there from its own surroundings."""
    detail = picture - cv2.GaussianBlur(picture, (0, 0), BODY_BINS)
    return abs(float(detail[where].mean()))


def _binned(stored: FloatStack) -> FloatStack:
    step = max(1, stored.shape[1] // 128)
    rows, columns = (n // step for n in stored.shape[1:])
    cut = stored[:, : rows * step, : columns * step]
    means = cut.reshape(len(stored), rows, step, columns, step).mean((2, 4))
    return np.asarray(means, dtype=np.float32)
