"""Stored pixels to absorption: a picture in which contrast adds.

Contrast absorbs exponentially, so thicknesses add only in log space. For LIN pixels the log is
taken here; LOG pixels are already there up to a factor; display-processed pixels (DISP, or
unstated) are used as if they were LOG for finding vessels, and never for densitometry.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.venogram.log_pixels import log_units_per_neper
from coilwright.venogram.run_file import PixelRelationship, RunFile

FloatStack = npt.NDArray[np.float32]

# From soft tissue to spine or hip within one picture; common practice, no source.
USUAL_SPAN_NEPERS = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Absorption:
    """Absorption per frame in nepers, (frames, rows, columns), higher where more is absorbed.

    ``densitometric`` is true where differences are proportional to the thickness of contrast.
    """

    frames: FloatStack
    densitometric: bool


def absorption(run: RunFile) -> Absorption:
    """Absorption of a run, in the direction in which contrast adds.

    References
    ----------
    Pixel Intensity Relationship: PS3.3 C.8.7.1.1.2; its sign: PS3.3 C.8.11.3.1.2.
    """
    values = run.stored
    if _rises_with_absorption(run):
        values = run.stored_maximum - values
    if run.relationship is PixelRelationship.LIN:
        floor = max(1.0, 1e-4 * float(values.max()))
        return Absorption(frames=-np.log(np.maximum(values, floor)), densitometric=True)
    densitometric = run.relationship is PixelRelationship.LOG
    per_neper = (log_units_per_neper(values) if densitometric else None) or _assumed_scale(values)
    return Absorption(frames=-values / np.float32(per_neper), densitometric=densitometric)


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
    """Signed size of the largest lasting change, or None where no side stands out."""
    if len(stored) < 3:
        return None
    step = max(1, stored.shape[1] // 128)
    rows, columns = (n // step for n in stored.shape[1:])
    binned = (
        stored[:, : rows * step, : columns * step]
        .reshape(len(stored), rows, step, columns, step)
        .mean((2, 4))
    )
    edge = max(1, min(3, len(stored) // 4))
    change = binned[-2 * edge :].mean(0) - binned[:edge].mean(0)
    change -= np.median(change)
    low, high = np.percentile(change, (0.5, 99.5))
    noise = 1.4826 * float(np.median(np.abs(change)))
    larger = max(abs(low), abs(high))
    if larger < 4.0 * noise or larger < 1.5 * min(abs(low), abs(high)):
        return None
    return float(high if high > -low else low)
