"""Whether a line fills as a vein does: once, and never less than it was before the injection.

The ureter carries contrast of earlier injections past in boluses; gas and bone that move leave
light beside dark. Along such lines opacity comes and goes, or falls below that of the mask.
"""

import numpy as np
import numpy.typing as npt
from scipy.ndimage import median_filter

Array = npt.NDArray[np.float64]

# Parts of the line's own plateau. A vein washes out at most once, and only to nothing.
FULL_PART = 0.6
EMPTY_PART = 0.3
BELOW_MASK_PART = 0.35
# A line is no vein when more than this share of it comes and goes: a vein that the ureter crosses
# shows it over the width of the ureter alone.
MOST_UNSTEADY_SHARE = 0.15


def unsteady_share(curves: Array) -> float:
    """Share of a line's points at which opacity fell below the mask's, or fell and rose again.

    Parameters
    ----------
    curves : (frames, points) opacity against the mask
    """
    if len(curves) < 3 or curves.shape[1] == 0:
        return 0.0
    # One frame alone, such as a breath or a flash, proves nothing.
    steady = median_filter(curves, size=(3, 1), mode="nearest") if len(curves) > 4 else curves
    plateau = float(np.median(steady.max(axis=0)))
    if plateau <= 0.0:
        return 1.0
    part = steady / plateau
    below_mask = part.min(axis=0) < -BELOW_MASK_PART
    return float((below_mask | _fell_and_rose(part)).mean())


def _fell_and_rose(part: Array) -> npt.NDArray[np.bool_]:
    """Whether each point was full, then empty, then full again."""
    full, empty = part > FULL_PART, part < EMPTY_PART
    was_full = np.logical_or.accumulate(full, axis=0)
    emptied = np.logical_or.accumulate(was_full & empty, axis=0)
    return np.asarray((emptied & full).any(axis=0))


def fills_like_a_vein(curves: Array, trunk_curves: Array) -> bool:
    """False for a line that comes and goes while the trunk fills steadily.

    Where the trunk itself was injected twice, coming and going proves nothing.
    """
    if unsteady_share(trunk_curves) > MOST_UNSTEADY_SHARE:
        return True
    return unsteady_share(curves) <= MOST_UNSTEADY_SHARE
