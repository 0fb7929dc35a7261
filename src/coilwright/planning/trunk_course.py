"""The course of a vessel on the picture: marks projected onto it, and places along it."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.veins import Vessel

Array = npt.NDArray[np.float64]

# The end's direction is taken over this length: one step between samples is noise.
_END_DIRECTION_MM = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Projection:
    """A point carried onto a vessel: the arc of the nearest place and the distance to it.

    A point past an end gets an arc past that end, by its straight distance along the end's
    direction; ``past_start`` or ``past_end`` says so.
    """

    arc_mm: float
    off_mm: float
    past_start: bool = False
    past_end: bool = False


def project_onto(
    vessel: Vessel, point_px: tuple[float, float], *, mm_per_pixel: float
) -> Projection:
    """The place along ``vessel`` that is nearest to a mark (x, y) in the map's grid."""
    points = np.asarray(vessel.points_px, dtype=float)
    arc_mm = np.asarray(vessel.arc_mm, dtype=float)
    mark = np.asarray(point_px, dtype=float)
    if len(points) == 1:
        return Projection(
            arc_mm=float(arc_mm[0]), off_mm=float(np.linalg.norm(mark - points[0])) * mm_per_pixel
        )
    index, share, distance_px = _nearest(points, mark)
    nearest_mm = float(arc_mm[index] + share * (arc_mm[index + 1] - arc_mm[index]))
    if index == len(points) - 2 and share == 1.0:
        return _past(points, arc_mm, mark, mm_per_pixel, at_end=True)
    if index == 0 and share == 0.0:
        return _past(points, arc_mm, mark, mm_per_pixel, at_end=False)
    return Projection(arc_mm=nearest_mm, off_mm=distance_px * mm_per_pixel)


def point_at(vessel: Vessel, at_mm: float) -> tuple[float, float]:
    """The point (x, y) in the map's grid at an arc, the nearer end where it lies outside."""
    points = np.asarray(vessel.points_px, dtype=float)
    x, y = (float(np.interp(at_mm, vessel.arc_mm, points[:, axis])) for axis in (0, 1))
    return x, y


def _nearest(points: Array, mark: Array) -> tuple[int, float, float]:
    """Index of the nearest segment, the share of it at the nearest place, the distance."""
    start, step = points[:-1], np.diff(points, axis=0)
    squared = np.maximum((step**2).sum(axis=1), 1e-12)
    share = np.clip(((mark - start) * step).sum(axis=1) / squared, 0.0, 1.0)
    distance_px = np.linalg.norm(start + share[:, None] * step - mark, axis=1)
    index = int(np.argmin(distance_px))
    return index, float(share[index]), float(distance_px[index])


def _past(
    points: Array, arc_mm: Array, mark: Array, mm_per_pixel: float, *, at_end: bool
) -> Projection:
    if not at_end:
        points, arc_mm = points[::-1], arc_mm[::-1]
    far = int(np.argmax(np.abs(arc_mm[::-1] - arc_mm[-1]) >= _END_DIRECTION_MM))
    inner = points[::-1][far] if far else points[0]
    direction = points[-1] - inner
    direction = direction / max(float(np.linalg.norm(direction)), 1e-12)
    offset = mark - points[-1]
    along_mm = max(0.0, float(offset @ direction)) * mm_per_pixel
    across = offset - direction * max(0.0, float(offset @ direction))
    arc = float(arc_mm[-1]) + (along_mm if at_end else -along_mm)
    return Projection(
        arc_mm=arc,
        off_mm=float(np.linalg.norm(across)) * mm_per_pixel,
        past_start=not at_end and along_mm > 0,
        past_end=at_end and along_mm > 0,
    )
