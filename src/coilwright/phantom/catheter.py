"""The catheter: a radio-opaque tube through the renal vein and down inside the trunk."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from scipy.ndimage import gaussian_filter1d

from coilwright.phantom.course import (
    SAMPLE_STEP_MM,
    Course,
    arc_along_mm,
    course_through,
    equal_steps_mm,
)
from coilwright.phantom.geometry import Floats
from coilwright.units import fr_to_mm

_CAVA_BEND_MM = 9.0
_BEND_MM = 7.0
_BEND_ABOVE_OSTIUM_MM = 11.0
_BEYOND_TIP_MM = 20.0
_CAVA_LENGTH_MM = 40.0
_IN_VEIN_BEND_MM = 1.5


class Approach(StrEnum):
    """Which way the catheter comes down or up the cava."""

    NECK = "neck"
    GROIN = "groin"


@dataclass(frozen=True, slots=True, kw_only=True)
class Catheter:
    """A catheter and its way.

    ``tip_mm`` is the tip's place along the trunk from the ostium. The cava lies ``cava_mm`` to
    the right of the ostium (to the left in the picture), at its own depth. Inside the vein the
    catheter swings by ``lean`` (0 to 1) of the free space between the walls.
    """

    size_fr: float
    lumen_mm: float
    wall_per_mm: float
    approach: Approach
    tip_mm: float
    cava_mm: float = 65.0
    cava_depth_mm: float = -15.0
    renal_slope_mm: float = 6.0
    renal_arch_mm: float = 5.0
    lean: float = 0.5
    swing_mm: float = 45.0

    def __post_init__(self) -> None:
        if not 0 < self.lumen_mm < self.outer_mm:
            raise ValueError(f"a lumen of {self.lumen_mm} mm does not fit in {self.size_fr} Fr")

    @property
    def outer_mm(self) -> float:
        """Outer diameter: French size over three."""
        return fr_to_mm(self.size_fr)

    def course(self, trunk: Course, frame_reach_mm: float) -> Course:
        """The outer tube from outside the picture to the tip, radius of the outer wall.

        Its last sample is the middle of the rounded end, one radius short of the tip.

        ``frame_reach_mm`` is a distance beyond which nothing is in the picture.
        """
        outside = self._way_to_ostium_mm(trunk, frame_reach_mm)
        inside = self._inside_trunk_mm(trunk)
        raw = equal_steps_mm(np.concatenate([outside, inside]))
        below_ostium_mm = arc_along_mm(raw) - arc_along_mm(outside)[-1]
        tight = _smoothed(raw, _IN_VEIN_BEND_MM)
        loose = _smoothed(raw, _BEND_MM)
        share = np.clip((8.0 - below_ostium_mm) / 8.0, 0.0, 1.0)[:, None]
        share = share * share * (3.0 - 2.0 * share)
        points_mm = share * loose + (1.0 - share) * tight
        from_tip_mm = np.linalg.norm(points_mm - trunk.point_at(self.tip_mm), axis=1)
        # The rounded end reaches a radius beyond the last sample, so that it ends at the tip.
        end = int(np.argmin(from_tip_mm)) - round(self.outer_mm / 2.0 / SAMPLE_STEP_MM)
        return course_through(equal_steps_mm(points_mm[: end + 1]), self.outer_mm / 2.0)

    def _way_to_ostium_mm(self, trunk: Course, reach_mm: float) -> Floats:
        ostium, down = trunk.points_mm[0], trunk.tangents[0]
        bend = ostium - _BEND_ABOVE_OSTIUM_MM * down
        corner = bend + np.array([-self.cava_mm, self.renal_slope_mm, self.cava_depth_mm])
        far = corner + np.array([-4.0, 0.0, 0.0])
        if self.approach is Approach.NECK:
            far[1] = min(corner[1], -reach_mm) - _CAVA_LENGTH_MM
        else:
            far[1] = max(corner[1], reach_mm) + _CAVA_LENGTH_MM
        # Over the spine the renal vein passes in front of the aorta: it arches on its way.
        arch = (corner + bend) / 2 + np.array([0.0, -self.renal_arch_mm, 0.5 * self.renal_arch_mm])
        way = _smoothed(equal_steps_mm(np.array([far, corner, arch, bend])), _CAVA_BEND_MM)
        return np.vstack([way, equal_steps_mm(np.array([bend, ostium - 0.3 * down]))[1:]])

    def _inside_trunk_mm(self, trunk: Course) -> Floats:
        # Drawn on beyond the tip, so that cutting it there leaves no bend at the end.
        kept = trunk.arc_mm <= self.tip_mm + _BEYOND_TIP_MM
        arc_mm, points_mm = trunk.arc_mm[kept], trunk.points_mm[kept]
        free_mm = np.maximum(trunk.radius_mm[kept] - self.outer_mm / 2.0, 0.0)
        across = np.column_stack([-trunk.tangents[kept][:, 1], trunk.tangents[kept][:, 0]])
        across = across / np.linalg.norm(across, axis=1, keepdims=True)
        swing = self.lean * free_mm * np.sin(2 * np.pi * arc_mm / self.swing_mm)
        aside = np.column_stack([swing[:, None] * across, np.zeros(len(arc_mm))])
        return np.asarray(points_mm + aside)


def _smoothed(points_mm: Floats, bend_mm: float) -> Floats:
    """The polyline rounded over about ``bend_mm``; its ends stay."""
    rounded = gaussian_filter1d(points_mm, bend_mm / SAMPLE_STEP_MM, axis=0, mode="nearest")
    edge_mm = arc_along_mm(points_mm)
    edge_mm = np.minimum(edge_mm, edge_mm[-1] - edge_mm)
    share = np.clip(edge_mm / (3.0 * bend_mm), 0.0, 1.0)[:, None]
    return np.asarray(share * rounded + (1.0 - share) * points_mm)
