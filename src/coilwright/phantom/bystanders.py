"""What lies in the beam besides veins, bone and gas: a filled ureter, coils of an earlier day."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from coilwright.phantom.chords import tube_chords
from coilwright.phantom.contrast import attenuation_per_mm
from coilwright.phantom.course import Course, Point3, course_through, smooth_points_mm
from coilwright.phantom.geometry import Cone, Floats
from coilwright.phantom.motion import Pose

_CELLS = 2


class Bystander(Protocol):
    """Something that absorbs, and moves with the body."""

    def depth(self, cone: Cone, pose: Pose, time_s: float) -> Floats:
        """Optical depth (R, C) at a time."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Ureter:
    """A tube that contrast excreted by the kidney fills in boluses, carried down by peristalsis.

    It is there from the first frame on: earlier injections filled it. Between the boluses the tube
    is collapsed and empty.
    """

    knots_mm: tuple[Point3, ...]
    diameter_mm: float
    mg_i_per_ml: float
    bolus_mm: float
    gap_mm: float
    speed_mm_per_s: float
    phase_mm: float = 0.0

    def course(self) -> Course:
        """The sampled centreline."""
        points_mm = smooth_points_mm(np.asarray(self.knots_mm, dtype=float))
        return course_through(points_mm, self.diameter_mm / 2.0)

    def depth(self, cone: Cone, pose: Pose, time_s: float) -> Floats:
        """Optical depth (R, C): filled where a bolus passes."""
        return _tube_depth(
            pose.moved(self.course()),
            cone,
            lambda arc_mm: attenuation_per_mm(self.mg_i_per_ml) * self.filling(arc_mm, time_s),
        )

    def filling(self, arc_mm: Floats, time_s: float) -> Floats:
        """Share (0 to 1) of fullness at places along it: boluses with round ends."""
        period_mm = self.bolus_mm + self.gap_mm
        along_mm = np.mod(arc_mm - self.speed_mm_per_s * time_s - self.phase_mm, period_mm)
        inside = along_mm < self.bolus_mm
        swell = np.sin(np.pi * np.clip(along_mm / self.bolus_mm, 0.0, 1.0))
        return np.where(inside, np.sqrt(np.maximum(swell, 0.0)), 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class RenalPelvis:
    """A pool of excreted contrast, an ellipse in the picture's plane."""

    centre_mm: tuple[float, float]
    half_mm: tuple[float, float]
    optical_depth: float

    def depth(self, cone: Cone, pose: Pose, time_s: float) -> Floats:  # noqa: ARG002  # it stays
        """Optical depth (R, C): deepest in the middle."""
        pitch_mm = cone.isocentre_mm_per_pixel
        row, column = np.mgrid[0 : cone.rows, 0 : cone.columns]
        x_mm = (column - cone.centre_px[0]) * pitch_mm - pose.shift_mm[0] - self.centre_mm[0]
        y_mm = (row - cone.centre_px[1]) * pitch_mm - pose.shift_mm[1] - self.centre_mm[1]
        within = 1.0 - (x_mm / self.half_mm[0]) ** 2 - (y_mm / self.half_mm[1]) ** 2
        return np.asarray(self.optical_depth * np.sqrt(np.maximum(within, 0.0)))


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCoil:
    """A metal coil left by an earlier procedure: a wire wound in a nest."""

    centre_mm: Point3
    nest_mm: float
    length_mm: float
    turns: int
    wire_mm: float = 0.4
    wire_per_mm: float = 2.0

    def course(self) -> Course:
        """The wire: loops about the vein's axis that lean more with each turn."""
        share = np.linspace(0.0, 1.0, 60 * self.turns)
        angle = 2 * np.pi * self.turns * share
        lean = 0.5 * np.sin(0.31 * angle)
        radius_mm = self.nest_mm / 2.0
        points_mm = np.column_stack(
            [
                radius_mm * np.cos(angle),
                self.length_mm * (share - 0.5) + radius_mm * np.sin(lean) * np.sin(angle),
                radius_mm * np.cos(lean) * np.sin(angle),
            ]
        )
        return course_through(points_mm + np.asarray(self.centre_mm), self.wire_mm / 2.0)

    def depth(self, cone: Cone, pose: Pose, time_s: float) -> Floats:  # noqa: ARG002  # it stays
        """Optical depth (R, C) of the wire, which is about a pixel wide: its volume is kept."""
        course = pose.moved(self.course())
        step_mm = np.gradient(course.arc_mm)
        pixel_mm = cone.mm_per_pixel(course.points_mm)
        depth = self.wire_per_mm * np.pi / 4 * self.wire_mm**2 * step_mm / pixel_mm**2
        return _splatted(cone.project_px(course.points_mm), depth, (cone.rows, cone.columns))


def _splatted(points_px: Floats, weight: Floats, shape: tuple[int, int]) -> Floats:
    """Weights shared out among the four pixels around each point (x, y)."""
    low = np.floor(points_px).astype(int)
    part = points_px - low
    picture = np.zeros(shape)
    for right, down in ((0, 0), (1, 0), (0, 1), (1, 1)):
        column, row = low[:, 0] + right, low[:, 1] + down
        share_x = part[:, 0] if right else 1.0 - part[:, 0]
        share_y = part[:, 1] if down else 1.0 - part[:, 1]
        inside = (column >= 0) & (column < shape[1]) & (row >= 0) & (row < shape[0])
        given = (weight * share_x * share_y)[inside]
        np.add.at(picture, (row[inside], column[inside]), given)
    return picture


class _PerMm(Protocol):
    def __call__(self, arc_mm: Floats) -> Floats: ...


def _tube_depth(course: Course, cone: Cone, per_mm: _PerMm) -> Floats:
    """Optical depth (R, C) of a tube whose attenuation differs along it, mean over the cells."""
    chords = tube_chords(course, cone, _CELLS)
    row, column = np.divmod(chords.cell, cone.columns * _CELLS)
    pixel = (row // _CELLS) * cone.columns + column // _CELLS
    depth = (chords.far_mm - chords.near_mm) * per_mm(chords.arc_mm)
    summed = np.bincount(pixel, weights=depth, minlength=cone.rows * cone.columns)
    return (summed / _CELLS**2).reshape(cone.rows, cone.columns)
