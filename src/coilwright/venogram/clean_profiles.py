"""Profiles of the veins away from mouths, ends and the catheter: where only one vessel shows."""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.venogram.blur import Blur, estimate_blur
from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.centreline import Centreline
from coilwright.venogram.course import straighten
from coilwright.venogram.raw_profiles import BIN_SIGMA_PX, stretches
from coilwright.venogram.samples import footprint

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

PIECE_PX = 12
MOST_PIECES = 32
FEWEST_PIECES = 5
# Within this many radii of the axis nothing else may lie; further out it is left out of the fit.
OWN_RADII = 1.25
OTHERS_MARGIN_PX = 2.0


def blur_of(
    picture: Float, lines: list[Centreline], catheter: CatheterCourse | None
) -> Blur | None:
    """Blur and veil of the chain from the veins' clean profiles; None where too few are clean.

    ``lines`` is the trunk first; other veins count where it shows too little.
    """
    half = 1.8 * max(float(line.radius_px.max()) for line in lines) + 5.0
    parts: list[tuple[Array, ...]] = []
    for index, line in enumerate(lines):
        others = footprint(picture.shape, lines[:index] + lines[index + 1 :], OTHERS_MARGIN_PX)
        starts = _clean_starts(line, others, catheter)
        if len(starts):
            parts.append(_profiles(picture, others, line, starts, half))
        if sum(len(part[0]) for part in parts) >= MOST_PIECES // 2:
            break
    if sum(len(part[0]) for part in parts) < FEWEST_PIECES:
        return None
    profiles, across, weights, radius = (
        np.concatenate([part[k] for part in parts]) for k in range(4)
    )
    few = slice(None, None, max(1, len(profiles) // MOST_PIECES))
    return estimate_blur(profiles[few], across[few], weights[few], radius[few], BIN_SIGMA_PX)


def _clean_starts(
    line: Centreline, others: Float, catheter: CatheterCourse | None
) -> npt.NDArray[np.intp]:
    """Indices along the line where clean pieces start."""
    widest = float(line.radius_px.max())
    reach = np.ceil(OWN_RADII * widest + 2.0)
    across = np.arange(-reach, reach + 1.0)
    own = np.abs(across)[None, :] <= OWN_RADII * line.radius_px[:, None] + 2.0
    clear = np.where(own, straighten(others, line.course, across, order=1), 0.0).max(1) < 0.3
    if catheter is not None:
        away, _ = cKDTree(catheter.course.points_xy).query(line.course.points_xy)
        clear &= away > 1.5 * catheter.look_radius_px + widest
    margin = round(2.0 * widest)
    return np.array(
        [
            start
            for start in range(margin, len(clear) - margin - PIECE_PX, PIECE_PX)
            if clear[start : start + PIECE_PX].all()
        ],
        dtype=np.intp,
    )


def _profiles(
    picture: Float, others: Float, line: Centreline, starts: npt.NDArray[np.intp], half_px: float
) -> tuple[Array, Array, Array, Array]:
    """Profiles, distances, weights (N, M) and radii (N,) of the pieces."""
    found = stretches(
        picture.shape, line.course, line.course.arc_px[starts], float(PIECE_PX), half_px
    )
    radius = line.radius_px[starts + PIECE_PX // 2]
    inside = np.abs(found.across_px) <= 1.8 * radius[:, None] + 5.0
    weights = np.where(inside & (found.of(others) < 0.25), found.pixels, 0.0)
    return found.of(picture), found.across_px, weights, radius
