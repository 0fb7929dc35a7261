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
from coilwright.venogram.log_pixels import PAIRS, log_units_per_neper
from coilwright.venogram.run_file import PixelRelationship, RunFile
from coilwright.venogram.stored_frames import StoredFrames, Table

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
    if run.already_subtracted:
        return _of_subtracted(run)
    frames = run.frames
    table, lowest = frames.table, frames.lowest
    if _rises_with_absorption(run):
        table, lowest = np.float32(frames.highest) - table, 0.0
    # What the noise tells, a few frames tell.
    few = frames.through(table, range(min(PAIRS + 1, len(frames))))
    if run.relationship is PixelRelationship.LIN:
        present = table[frames.present()]
        zero = _zero_of_beam(few, present, lowest)
        if zero is not None:
            nepers = frames.through(_minus_log(table, present, zero))
            return Absorption(frames=nepers, densitometric=True)
        nepers = frames.through(-table / np.float32(_assumed_scale(few)))
        return Absorption(frames=nepers, densitometric=False, notices=(ZERO_UNKNOWN,))
    densitometric = run.relationship is PixelRelationship.LOG
    per_neper = (log_units_per_neper(few) if densitometric else None) or _assumed_scale(few)
    nepers = frames.through(-table / np.float32(per_neper))
    return Absorption(frames=nepers, densitometric=densitometric)


def _minus_log(table: Table, present: Table, zero: float) -> Table:
    """Absorption of LIN values; those without beam count as the least that was seen."""
    greatest = max(float(present.max()) - zero, 1e-6)
    lit = float(np.min(present, where=present > zero, initial=np.float32(zero + greatest)))
    floor = max(lit - zero, 1e-4 * greatest)
    return np.asarray(-np.log(np.maximum(table - np.float32(zero), np.float32(floor))))


def _zero_of_beam(few: FloatStack, present: Table, lowest: float) -> float | None:
    """The LIN value of no beam: zero, unless the pixels were shifted; None where nothing tells."""
    if lowest == 0.0:
        return 0.0
    shown, least = zero_beam_level(few, (0.0, lowest)), float(present.min())
    if shown is not None and least >= shown:
        return shown
    return 0.0 if least >= 0.0 else None


def _of_subtracted(run: RunFile) -> Absorption:
    """A run that was subtracted before: contrast lies to one side of the grey of no change."""
    change = run.stored
    change -= np.median(change[:, ::4, ::4], axis=(1, 2), keepdims=True)
    low, high = np.percentile(change[:, ::4, ::4], (0.2, 99.8))
    towards_more = 1.0 if high > -low else -1.0
    per_neper = max(high, -low, 1e-6) / USUAL_CONTRAST_NEPERS
    change *= np.float32(towards_more / per_neper)
    return Absorption(
        frames=change,
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
    change = _one_sided_change(run.frames)
    if change is not None:
        return change > 0
    if run.higher_is_less_beam is not None:
        return run.higher_is_less_beam
    return run.shown_inverted


def _one_sided_change(stored: StoredFrames) -> float | None:
    """Signed size of the largest lasting change by contrast, or None where no side stands out.

    Contrast may wash out instead of arriving: then the change is turned round.
    """
    if len(stored) < 3:
        return None
    edge = max(1, min(3, len(stored) // 4))
    first = _binned(stored, range(edge))
    last = _binned(stored, range(len(stored) - 2 * edge, len(stored)))
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


def _binned(stored: StoredFrames, numbers: range) -> FloatStack:
    """Mean of some frames in bins of pixels, (rows, columns)."""
    step = max(1, stored.shape[1] // 128)
    rows, columns = (n // step for n in stored.shape[1:])
    total = np.zeros((rows, columns), np.float32)
    for number in numbers:
        cut = stored.values([number])[0, : rows * step, : columns * step]
        total += cv2.resize(cut, (columns, rows), interpolation=cv2.INTER_AREA)
    return np.asarray(total / np.float32(len(numbers)))
