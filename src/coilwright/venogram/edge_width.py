"""Calibre by the width at a quarter of the height: for pictures made for the eye.

A display curve bends the profile and edge enhancement sharpens it, so nothing can be fitted; but
low on its flanks any such profile still ends near the wall. A chord falls to a quarter of its
height at sqrt(1 - 1/16) = 0.968 of the radius.
"""

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

HEIGHT = 0.25
CHORD_PART = float(np.sqrt(1.0 - HEIGHT**2))
# Wide on purpose: the display curve is unknown, and blur alone moves each edge by up to a pixel.
RELATIVE_SD = 0.10
SD_PX = 1.5


def edge_widths(profiles: Array, across_px: Array, radius_px: Array) -> Array:
    """Width (N,) in pixels of each profile (N, M), corrected for the chord; NaN where unclear."""
    widths = np.full(len(profiles), np.nan)
    middle = np.abs(across_px)[None, :] <= 0.6 * radius_px[:, None] + 1.0
    beside = np.abs(across_px)[None, :] >= 1.4 * radius_px[:, None] + 1.0
    for row, profile in enumerate(profiles):
        ground = _ground(profile, across_px, beside[row])
        lifted = profile - ground
        peak_at = int(np.argmax(np.where(middle[row], lifted, -np.inf)))
        level = HEIGHT * float(lifted[peak_at])
        if level <= 0:
            continue
        left = _crossing(lifted[: peak_at + 1][::-1], across_px[: peak_at + 1][::-1], level)
        right = _crossing(lifted[peak_at:], across_px[peak_at:], level)
        if left is not None and right is not None:
            widths[row] = (right - left) / CHORD_PART
    return widths


def _ground(profile: Array, across_px: Array, beside: npt.NDArray[np.bool_]) -> Array:
    """A line through the background on both sides."""
    if beside.sum() < 4:
        return np.full_like(profile, float(profile.min()))
    slope, height = np.polyfit(across_px[beside], profile[beside], 1)
    return np.asarray(height + slope * across_px)


def _crossing(values: Array, at: Array, level: float) -> float | None:
    """Where values, walked outwards from the peak, first fall below the level."""
    below = np.flatnonzero(values < level)
    if not below.size or below[0] == 0:
        return None
    i = int(below[0])
    part = (values[i - 1] - level) / max(float(values[i - 1] - values[i]), 1e-12)
    return float(at[i - 1] + part * (at[i] - at[i - 1]))


def edge_width_sd_px(width_px: Array) -> Array:
    """Standard deviation of an edge width in pixels."""
    return np.asarray(np.hypot(RELATIVE_SD * width_px, SD_PX))
