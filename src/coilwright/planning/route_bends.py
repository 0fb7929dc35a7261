"""The turns of a vein along its course on the picture, and how winding it is.

What bends towards or away from the picture is not seen: turns are those of the projection.
"""

import math

import numpy as np
import numpy.typing as npt

from coilwright.planning.route import Bend
from coilwright.planning.trunk_course import point_at
from coilwright.protocol import Protocol
from coilwright.veins import Vessel

Array = npt.NDArray[np.float64]

_STEP_MM = 1.0
# A bend's ends are where this share of its turn is still to come, or is done.
_END_SHARE = 0.02


def bends_between(
    vessel: Vessel, from_mm: float, to_mm: float, protocol: Protocol
) -> tuple[Bend, ...]:
    """Every bend of at least the protocol's angle, from ``from_mm`` on.

    The direction is that of the chord over the protocol's window, so a bend within half a window
    of either end is seen in part. A bend ends where the vein has turned back by that same angle:
    what wavers by less is noise, or one bend.
    """
    window_mm = protocol.limit("turn-window").value
    at_mm, heading_deg = _headings(vessel, from_mm, to_mm, window_mm)
    if len(at_mm) < 2:
        return ()
    legs = _legs(heading_deg, protocol.limit("turn-angle-min").value)
    return tuple(_bend(at_mm, heading_deg, first, last) for first, last in legs)


def tortuosity(
    vessel: Vessel, from_mm: float, to_mm: float, *, mm_per_pixel: float
) -> float | None:
    """Length along the vein over the straight distance of its ends, both as projected.

    Only the part that was seen counts; null where that begins and ends in one place.
    """
    straight_mm = math.dist(point_at(vessel, from_mm), point_at(vessel, to_mm)) * mm_per_pixel
    if straight_mm <= 0:
        return None
    start_mm, end_mm = np.clip([from_mm, to_mm], vessel.arc_mm[0], vessel.arc_mm[-1])
    return float(end_mm - start_mm) / straight_mm


def _headings(
    vessel: Vessel, from_mm: float, to_mm: float, window_mm: float
) -> tuple[Array, Array]:
    """Places along the vein, and the direction there in degrees, without jumps at 360."""
    arc_mm = np.asarray(vessel.arc_mm, dtype=float)
    points = np.asarray(vessel.points_px, dtype=float)
    half = window_mm / 2
    first, last = max(from_mm, arc_mm[0]) + half, min(to_mm, arc_mm[-1]) - half
    if last <= first:
        return np.empty(0), np.empty(0)
    at_mm = np.linspace(first, last, max(2, math.ceil((last - first) / _STEP_MM) + 1))
    chords = [
        np.interp(at_mm + half, arc_mm, points[:, axis])
        - np.interp(at_mm - half, arc_mm, points[:, axis])
        for axis in (0, 1)
    ]
    return at_mm, np.degrees(np.unwrap(np.arctan2(chords[1], chords[0])))


def _legs(heading_deg: Array, least_deg: float) -> list[tuple[int, int]]:
    """First and last index of every stretch that turns one way by at least ``least_deg``."""
    legs = []
    pivot, sense = _first_pivot(heading_deg, least_deg)
    if sense == 0:
        return []
    turned = sense * heading_deg
    far = pivot
    for i in range(pivot, len(heading_deg)):
        if turned[i] > turned[far]:
            far = i
        elif turned[far] - turned[i] >= least_deg:
            legs.append((pivot, far))
            pivot, far, turned = far, i, -turned
    return [*legs, (pivot, far)]


def _first_pivot(heading_deg: Array, least_deg: float) -> tuple[int, int]:
    """Where the first bend begins and which way it goes (0: there is none)."""
    low = high = 0
    for i, heading in enumerate(heading_deg):
        if heading - heading_deg[low] >= least_deg:
            return low, 1
        if heading_deg[high] - heading >= least_deg:
            return high, -1
        low = i if heading < heading_deg[low] else low
        high = i if heading > heading_deg[high] else high
    return 0, 0


def _bend(at_mm: Array, heading_deg: Array, first: int, last: int) -> Bend:
    turned = np.abs(heading_deg[first : last + 1] - heading_deg[first])
    angle_deg = float(turned[-1])
    begun = int(np.flatnonzero(turned <= _END_SHARE * angle_deg)[-1])
    done = int(np.flatnonzero(turned >= (1 - _END_SHARE) * angle_deg)[0])
    return Bend(
        from_mm=float(at_mm[first + begun]), to_mm=float(at_mm[first + done]), angle_deg=angle_deg
    )
