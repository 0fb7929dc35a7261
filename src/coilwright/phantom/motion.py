"""How the body moves during a run: breathing with its slow turn, gas on its own."""

from dataclasses import dataclass

import numpy as np

from coilwright.phantom.course import Course
from coilwright.phantom.geometry import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """Where soft tissue, veins and catheter stand in one frame, relative to rest.

    A turn by ``turn_rad`` about the central ray, then a shift (x, y).
    """

    shift_mm: tuple[float, float]
    turn_rad: float

    @property
    def turn(self) -> Floats:
        """The (2, 2) rotation in the picture's plane."""
        cosine, sine = np.cos(self.turn_rad), np.sin(self.turn_rad)
        return np.array([[cosine, -sine], [sine, cosine]])

    def moved(self, course: Course) -> Course:
        """The course in this pose."""
        points_mm, tangents = course.points_mm.copy(), course.tangents.copy()
        points_mm[:, :2] = points_mm[:, :2] @ self.turn.T + np.asarray(self.shift_mm)
        tangents[:, :2] = tangents[:, :2] @ self.turn.T
        return Course(
            points_mm=points_mm,
            tangents=tangents,
            arc_mm=course.arc_mm,
            radius_mm=course.radius_mm,
        )


REST = Pose(shift_mm=(0.0, 0.0), turn_rad=0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """Breathing as a sine: ``amplitude_mm`` is the greatest shift away from rest."""

    amplitude_mm: float = 0.0
    period_s: float = 4.0
    phase_rad: float = 0.0
    sideways_share: float = 0.2
    turn_deg: float = 0.0
    gas_drift_mm: float = 0.0

    @property
    def still(self) -> bool:
        """Whether nothing but gas ever moves."""
        return self.amplitude_mm == 0.0 and self.turn_deg == 0.0

    def reach_mm(self, half_size_mm: float) -> float:
        """The farthest that anything within a half picture size moves."""
        return self.amplitude_mm + float(np.deg2rad(self.turn_deg)) * half_size_mm

    def pose(self, time_s: float) -> Pose:
        """The body's pose at a time."""
        if self.still:
            return REST
        angle = 2 * np.pi * time_s / self.period_s + self.phase_rad
        breath = float(np.sin(angle))
        sideways = self.sideways_share * float(np.sin(0.5 * angle + 0.7))
        scale_mm = self.amplitude_mm / float(np.hypot(1.0, self.sideways_share))
        return Pose(
            shift_mm=(scale_mm * sideways, scale_mm * breath),
            turn_rad=float(np.deg2rad(self.turn_deg) * np.sin(0.7 * angle + 0.3)),
        )
