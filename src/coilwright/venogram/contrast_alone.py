"""Which way a run's contrast is had alone: by a mask before it, one after it, or as stored."""

import numpy as np
import numpy.typing as npt

from coilwright.venogram.subtracted_already import as_stored
from coilwright.venogram.subtraction import SubtractedRun, subtract
from coilwright.venogram.washed_out import subtract_from_end

Float = npt.NDArray[np.float32]


def contrast_alone(
    absorbed: Float, mask_frames: tuple[int, ...] | None, *, already_subtracted: bool
) -> SubtractedRun:
    """Contrast of a run; the operator's mask frames come first where they are given."""
    if mask_frames is not None:
        return subtract(absorbed, mask_frames)
    if already_subtracted:
        return as_stored(absorbed)
    return subtract_from_end(absorbed) or subtract(absorbed, None)
