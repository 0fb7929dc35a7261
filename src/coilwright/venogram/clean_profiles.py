"""Profiles of the trunk away from mouths, ends and the catheter: where only the vein shows."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.venogram.blur import Blur, estimate_blur
from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.centreline import Centreline
from coilwright.venogram.course import straighten

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

PIECE_PX = 12
MOST_PIECES = 32
FEWEST_PIECES = 6
# Within this many radii of the axis nothing else may lie; further out it is left out of the fit.
OWN_RADII = 1.25


def blur_of(
    picture: Float, trunk: Centreline, others: Float, catheter: CatheterCourse | None
) -> Blur | None:
    """Blur and veil of the chain from the trunk's clean profiles; None where too few are clean."""
    half = 1.8 * float(trunk.radius_px.max()) + 5.0
    across = np.linspace(-half, half, 2 * int(np.ceil(half)) + 1)
    strip = straighten(picture, trunk.course, across)
    taken = straighten(others, trunk.course, across)
    own = np.abs(across)[None, :] <= OWN_RADII * trunk.radius_px[:, None] + 2.0
    clear = np.where(own, taken, 0.0).max(1) < 0.3
    if catheter is not None:
        away, _ = cKDTree(catheter.course.points_xy).query(trunk.course.points_xy)
        clear &= away > 1.5 * catheter.look_radius_px + float(trunk.radius_px.max())
    margin = round(2.0 * float(trunk.radius_px.max()))
    starts = [
        start
        for start in range(margin, len(strip) - margin - PIECE_PX, PIECE_PX)
        if clear[start : start + PIECE_PX].all()
    ]
    if len(starts) < FEWEST_PIECES:
        return None
    chosen = starts[:: max(1, len(starts) // MOST_PIECES)]
    profiles = np.array([strip[start : start + PIECE_PX].mean(0) for start in chosen])
    radius = trunk.radius_px[np.array(chosen) + PIECE_PX // 2]
    free = np.array([taken[start : start + PIECE_PX].max(0) for start in chosen]) < 0.25
    weights = ((np.abs(across)[None, :] <= 1.8 * radius[:, None] + 5.0) & free).astype(np.float64)
    return estimate_blur(profiles, across, weights, radius)
