"""How sharply the trunk turns along a stretch: a stiff nest does not follow a bend.

Seen on one projection: a bend towards or away from the picture does not show.
"""

import math

import numpy as np
import numpy.typing as npt

from coilwright.veins import Vessel

# A turn is measured between two neighbouring chords of this length: several loops of a coil, and
# long enough that a centreline's noise (tenths of a millimetre) turns it by a few degrees only.
CHORD_MM = 10.0

Array = npt.NDArray[np.float64]


def turns_deg(vessel: Vessel) -> Array:
    """The turn of the centreline at every sample, in degrees, 0 for a straight course.

    At a sample, the angle between the chord from ``CHORD_MM`` above to it and the chord from it
    to ``CHORD_MM`` below. Nearer to an end than half a chord it is not told (NaN); between, both
    chords are as short as what is left.

    References
    ----------
    On a circle of radius R the chords of arc w turn by w / R.
    """
    arc_mm = np.asarray(vessel.arc_mm, dtype=float)
    points = np.asarray(vessel.points_px, dtype=float)
    left_mm = np.minimum(arc_mm - arc_mm[0], arc_mm[-1] - arc_mm)
    reach_mm = np.minimum(left_mm, CHORD_MM)
    before = points - _at(points, arc_mm, arc_mm - reach_mm)
    after = _at(points, arc_mm, arc_mm + reach_mm) - points
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.degrees(np.abs(np.arctan2(cross, (before * after).sum(axis=1))))
    return np.where(reach_mm >= CHORD_MM / 2, turn, np.nan)


def sharpest_turn_deg(vessel: Vessel, from_mm: float, to_mm: float) -> float | None:
    """The sharpest turn within a stretch; null where the vein is too short to tell."""
    arc_mm = np.asarray(vessel.arc_mm, dtype=float)
    inside = turns_deg(vessel)[(arc_mm >= from_mm) & (arc_mm <= to_mm)]
    known = inside[~np.isnan(inside)]
    return float(known.max()) if known.size else None


def bent_mm(vessel: Vessel, limit_deg: float) -> tuple[Array, Array]:
    """Arcs, and the length of vein above each that turns by more than ``limit_deg``."""
    arc_mm = np.asarray(vessel.arc_mm, dtype=float)
    bent = np.nan_to_num(turns_deg(vessel)) > limit_deg
    steps_mm = np.diff(arc_mm, prepend=arc_mm[0])
    return arc_mm, np.cumsum(np.where(bent, steps_mm, 0.0))


def bent_between(course: tuple[Array, Array], from_mm: float, to_mm: float) -> int:
    """Bent length of a stretch in whole millimetres, so that no noise outweighs a slide."""
    low, high = np.interp((from_mm, to_mm), *course)
    return math.ceil(float(high - low))


def _at(points: Array, arc_mm: Array, at_mm: Array) -> Array:
    return np.stack([np.interp(at_mm, arc_mm, points[:, axis]) for axis in (0, 1)], axis=1)
