"""When the catheter's lumen fills: mask frames after that hold contrast already."""

from dataclasses import replace

import numpy as np
import numpy.typing as npt

from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.course import straighten
from coilwright.venogram.mean_picture import mean_of
from coilwright.venogram.subtraction import SubtractedRun

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

# Across the course, in radii: where the lumen lies, and what lies beside the catheter.
LUMEN_RADII, BESIDE_RADII, REACH_RADII = 0.6, 1.5, 2.5
PARTS = 12
# A frame holds contrast from this part of what the lumen takes on in the end, and from so many
# standard deviations.
FILLED_PART, CLEAR_SD = 0.08, 4.0


def without_filled_lumen(subtracted: SubtractedRun, catheter: CatheterCourse) -> SubtractedRun:
    """The run with those mask frames left out in which the catheter already held contrast.

    The lumen is a small part of the picture, so the search for the first contrast can miss it;
    yet in the mask it makes the catheter look solid, and its width several per cent wrong.
    """
    kept = _before_filling(subtracted, catheter)
    if kept == subtracted.mask_frames:
        return subtracted
    change = mean_of(subtracted.frames, kept)
    return replace(
        subtracted,
        frames=subtracted.frames - change,
        mask=subtracted.mask + change,
        mask_frames=kept,
    )


def _before_filling(subtracted: SubtractedRun, catheter: CatheterCourse) -> tuple[int, ...]:
    mask_frames = subtracted.mask_frames
    if len(mask_frames) < 2:
        return mask_frames
    strength = lumen_strength(subtracted.frames, catheter)
    first = strength[list(mask_frames[: (len(mask_frames) + 1) // 2])]
    base = np.median(first, axis=0)
    rise = strength - base
    later = [frame for frame in range(len(strength)) if frame not in mask_frames]
    level = np.median(rise, axis=1)
    top = float(np.max(level[later], initial=0.0))
    scatter = 1.4826 * np.median(np.abs(rise - level[:, None]), axis=1) / np.sqrt(PARTS)
    holds = (level > FILLED_PART * top) & (level > CLEAR_SD * scatter)
    return tuple(f for f in mask_frames if not holds[f]) or mask_frames


def lumen_strength(frames: Float, catheter: CatheterCourse) -> Array:
    """Absorption within the catheter over that beside it, (frames, parts of its course)."""
    radius = catheter.look_radius_px
    across = np.linspace(-REACH_RADII * radius, REACH_RADII * radius, 21)
    strips = straighten(frames, catheter.course, across, order=1)
    inside = strips[:, :, np.abs(across) <= LUMEN_RADII * radius].mean(2)
    beside = np.median(strips[:, :, np.abs(across) >= BESIDE_RADII * radius], axis=2)
    parts = np.array_split(inside - beside, PARTS, axis=1)
    return np.stack([part.mean(1) for part in parts], axis=1)
