"""The contrast front: when it arrives at each point of a course."""

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d, uniform_filter1d

from coilwright.venogram.course import Course

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

# Below this part of the vessel's own plateau nothing is said to have arrived.
FAINTEST_PART = 0.25
# The steepness of a rise is taken between this part of the plateau and half of it.
EARLY_PART = 0.2


def opacity_over_time(subtracted: Float, course: Course, radius_px: Array) -> Array:
    """Opacity of the middle of the vein in each frame, (frames, points)."""
    across = np.linspace(-0.5, 0.5, 5)
    offsets = across[None, :] * radius_px[:, None]
    x = course.points_xy[:, 0, None] + course.normals_xy[:, 0, None] * offsets
    y = course.points_xy[:, 1, None] + course.normals_xy[:, 1, None] * offsets
    where = x.astype(np.float32), y.astype(np.float32)
    curves = [
        cv2.remap(f, *where, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).mean(1)
        for f in subtracted
    ]
    return np.asarray(gaussian_filter1d(np.array(curves), 3.0, axis=1), dtype=np.float64)


def arrival_s(curves: Array, frame_times_s: tuple[float, ...]) -> Array:
    """Time at which the front comes to each point, (points,); NaN if never.

    Each point reaches half of its own plateau some way up its rise; that way is taken off. It is
    the rise that all points have in common, without what the step from frame to frame adds to it.

    Parameters
    ----------
    curves : (frames, points) opacity
    frame_times_s : from the first frame
    """
    times = np.array(frame_times_s)
    smooth = uniform_filter1d(curves, 3, axis=0, mode="nearest") if len(curves) > 4 else curves
    plateau = smooth.max(0)
    half = _reaches(curves, times, plateau, 0.5)
    rise = (half - _reaches(curves, times, plateau, EARLY_PART)) / (0.5 - EARLY_PART)
    known = rise[np.isfinite(rise) & (half > times[0])]
    if not known.size:
        return half
    step = float(np.median(np.diff(times)))
    own = float(np.sqrt(max(float(np.median(known)) ** 2 - step**2, 0.0)))
    return np.where(half > times[0], np.maximum(half - own / 2.0, times[0]), half)


def _reaches(curves: Array, times: Array, plateau: Array, part: float) -> Array:
    """When each point first reaches a part of its plateau, between frames; NaN if never."""
    reached = np.full(curves.shape[1], np.nan)
    for point in np.flatnonzero(plateau > FAINTEST_PART * float(np.median(plateau))):
        level = plateau[point] * part
        over = np.flatnonzero(curves[:, point] >= level)
        first = int(over[0]) if over.size else 0
        if first == 0:
            reached[point] = times[0] if over.size else np.nan
            continue
        low, high = curves[first - 1, point], curves[first, point]
        share = (level - low) / max(high - low, 1e-12)
        reached[point] = times[first - 1] + share * (times[first] - times[first - 1])
    return reached
