"""Speed of the contrast front along the trunk, up and down from the catheter's tip."""

import numpy as np
import numpy.typing as npt

from coilwright.veins import Front, Vessel

Array = npt.NDArray[np.float64]

# A stretch shorter than this, or with fewer arrivals, gives no speed worth stating.
SHORTEST_MM = 20.0
FEWEST = 12
# Near the tip the jet and the filling lumen blur the front.
JET_MM = 5.0
MOST_POINTS = 120


def front_along(trunk: Vessel, tip_px: tuple[float, float], frame_s: float | None) -> Front | None:
    """The front's speed on both sides of the tip; None where nothing arrived.

    Parameters
    ----------
    trunk : its ``arrival_s`` in s from the first frame
    tip_px : the catheter's tip, x then y
    frame_s : time between frames; a front that crosses a stretch within one has no known speed
    """
    arrival = np.array([np.nan if a is None else a for a in trunk.arrival_s], dtype=np.float64)
    arc_mm = np.array(trunk.arc_mm)
    if not np.isfinite(arrival).any():
        return None
    away = np.hypot(*(np.array(trunk.points_px) - np.array(tip_px)).T)
    tip_at = float(arc_mm[int(np.argmin(away))])
    below = np.isfinite(arrival) & (arc_mm > tip_at + JET_MM)
    above = np.isfinite(arrival) & (arc_mm < tip_at - JET_MM)
    down = _speed(arc_mm[below] - tip_at, arrival[below], frame_s)
    up = _speed(tip_at - arc_mm[above], arrival[above], frame_s)
    return Front(
        tip_at_mm=round(tip_at, 2),
        down_mm_per_s=down[0],
        down_sd_mm_per_s=down[1],
        up_mm_per_s=up[0],
        up_sd_mm_per_s=up[1],
        reached_mm=round(float(arc_mm[np.isfinite(arrival)].max()), 2),
    )


def _speed(
    along_mm: Array, arrival_s: Array, frame_s: float | None
) -> tuple[float | None, float | None]:
    """Distance over time by the median of the slopes between pairs, and its standard deviation."""
    if len(along_mm) < FEWEST or np.ptp(along_mm) < SHORTEST_MM:
        return None, None
    slope = _median_slope(along_mm, arrival_s)
    if slope <= 0.0 or (frame_s is not None and slope * np.ptp(along_mm) < frame_s):
        return None, None
    residual = arrival_s - slope * along_mm
    scatter_s = 1.4826 * float(np.median(np.abs(residual - np.median(residual))))
    # Neighbouring arrivals share their frames: they count as one for each frame passed.
    independent = max(2.0, slope * float(np.ptp(along_mm)) / (frame_s or scatter_s or 1.0))
    spread_mm = float(np.std(along_mm))
    slope_sd = max(scatter_s, 0.29 * (frame_s or 0.0)) / (spread_mm * np.sqrt(independent))
    speed = 1.0 / slope
    return round(speed, 2), round(float(speed * speed * slope_sd), 2)


def _median_slope(along_mm: Array, arrival_s: Array) -> float:
    """Theil and Sen's slope, s/mm, on at most ``MOST_POINTS`` evenly picked points."""
    every = np.linspace(0, len(along_mm) - 1, min(len(along_mm), MOST_POINTS)).astype(int)
    x, y = along_mm[every], arrival_s[every]
    first, second = np.triu_indices(len(x), k=1)
    apart = x[second] - x[first]
    good = np.abs(apart) > 1e-9
    return float(np.median((y[second] - y[first])[good] / apart[good]))
