"""A tube's course in space: a smooth centreline, densely sampled, with its radius."""

import itertools
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicSpline

from coilwright.phantom.geometry import Floats

SAMPLE_STEP_MM = 0.2
_FINE_STEP_MM = 0.05

Point3 = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """Samples at equal steps along a centreline; parallel arrays of N items.

    ``points_mm`` and ``tangents`` are (N, 3), ``arc_mm`` starts at zero, ``radius_mm`` is the
    radius of the round cross section.
    """

    points_mm: Floats
    tangents: Floats
    arc_mm: Floats
    radius_mm: Floats

    @property
    def length_mm(self) -> float:
        """Length in space of the whole centreline."""
        return float(self.arc_mm[-1])

    def point_at(self, arc_mm: float) -> Floats:
        """The (3,) point at a distance along the centreline."""
        return np.array([np.interp(arc_mm, self.arc_mm, axis) for axis in self.points_mm.T])

    def tangent_at(self, arc_mm: float) -> Floats:
        """The (3,) unit direction at a distance along the centreline."""
        nearest = int(np.argmin(np.abs(self.arc_mm - arc_mm)))
        return np.asarray(self.tangents[nearest])

    def radius_at(self, arc_mm: float) -> float:
        """The radius at a distance along the centreline."""
        return float(np.interp(arc_mm, self.arc_mm, self.radius_mm))

    def pieces(self, length_mm: float) -> tuple["Course", ...]:
        """The course cut into stretches of about a length, sharing their end samples."""
        count = max(1, round(self.length_mm / length_mm))
        cuts = np.linspace(0, len(self.arc_mm) - 1, count + 1).round().astype(int)
        return tuple(
            Course(
                points_mm=self.points_mm[first : last + 1],
                tangents=self.tangents[first : last + 1],
                arc_mm=self.arc_mm[first : last + 1],
                radius_mm=self.radius_mm[first : last + 1],
            )
            for first, last in itertools.pairwise(cuts)
        )


def smooth_points_mm(knots_mm: Floats, step_mm: float = SAMPLE_STEP_MM) -> Floats:
    """Points at equal steps on the smooth curve through (K, 3) knots."""
    chord_mm = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(knots_mm, axis=0), axis=1))])
    spline = CubicSpline(chord_mm, knots_mm)
    fine = spline(np.linspace(0.0, chord_mm[-1], max(8, int(chord_mm[-1] / _FINE_STEP_MM))))
    return equal_steps_mm(fine, step_mm)


def equal_steps_mm(points_mm: Floats, step_mm: float = SAMPLE_STEP_MM) -> Floats:
    """The polyline (N, 3) sampled again at equal steps."""
    arc_mm = arc_along_mm(points_mm)
    count = max(2, round(arc_mm[-1] / step_mm) + 1)
    wanted_mm = np.linspace(0.0, arc_mm[-1], count)
    return np.column_stack([np.interp(wanted_mm, arc_mm, axis) for axis in points_mm.T])


def arc_along_mm(points_mm: Floats) -> Floats:
    """Distance along a polyline (N, D) from its first point, one item per point."""
    steps_mm = np.linalg.norm(np.diff(points_mm, axis=0), axis=1)
    return np.concatenate([[0.0], np.cumsum(steps_mm)])


def course_through(points_mm: Floats, radius_mm: Floats | float) -> Course:
    """The course along densely sampled (N, 3) points; radius per point or one for all."""
    tangents = np.gradient(points_mm, axis=0)
    return Course(
        points_mm=points_mm,
        tangents=tangents / np.linalg.norm(tangents, axis=1, keepdims=True),
        arc_mm=arc_along_mm(points_mm),
        radius_mm=np.broadcast_to(np.asarray(radius_mm, dtype=float), len(points_mm)).copy(),
    )
