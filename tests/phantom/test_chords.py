"""Chords of tubes against the circle's own geometry."""

import numpy as np
import pytest

from coilwright.phantom.chords import Chords, tube_chords
from coilwright.phantom.course import Course, Point3, course_through, equal_steps_mm
from coilwright.phantom.geometry import Cone

FACTOR = 3
# One pixel at the detector is a thousandth of a quarter of the distance: 0.275 / 1100 = 0.00025.
CONE = Cone(
    source_to_detector_mm=1100.0,
    source_to_isocentre_mm=750.0,
    imager_spacing_mm=0.275,
    rows=41,
    columns=41,
)


def middle_chord_mm(chords: Chords, x_px: int, y_px: int) -> float:
    """Length on the cell in the very middle of a pixel; 0 where the ray misses."""
    row, column = y_px * FACTOR + 1, x_px * FACTOR + 1
    here = chords.cell == row * CONE.columns * FACTOR + column
    return float(np.sum((chords.far_mm - chords.near_mm)[here]))


def straight(start: Point3, end: Point3, radius_mm: float) -> Course:
    return course_through(equal_steps_mm(np.array([start, end])), radius_mm)


def test_the_ray_through_the_axis_crosses_the_whole_diameter() -> None:
    chords = tube_chords(straight((0, -30, 0), (0, 30, 0), 1.25), CONE, FACTOR)
    assert middle_chord_mm(chords, 20, 20) == pytest.approx(2.5, abs=1e-9)


def test_a_ray_aside_of_the_axis_crosses_the_chord_of_the_circle() -> None:
    # By hand: 4 px aside is a slope of 0.001, so the ray passes 750 mm * 0.001 = 0.75 mm from
    # the axis (0.7499996 with the sine); 2 * sqrt(1.25**2 - 0.75**2) = 2.0 mm.
    chords = tube_chords(straight((0, -30, 0), (0, 30, 0), 1.25), CONE, FACTOR)
    assert middle_chord_mm(chords, 24, 20) == pytest.approx(2.0, abs=1e-5)
    assert middle_chord_mm(chords, 16, 20) == pytest.approx(2.0, abs=1e-5)


def test_a_ray_farther_aside_than_the_radius_misses() -> None:
    # 7 px aside: 1.3125 mm from the axis, more than the radius of 1.25 mm.
    chords = tube_chords(straight((0, -30, 0), (0, 30, 0), 1.25), CONE, FACTOR)
    assert middle_chord_mm(chords, 27, 20) == 0.0


def test_a_tube_leaning_along_the_beam_has_a_longer_chord() -> None:
    # By hand: axis at 60 degrees to the central ray: 2.5 / sin(60 deg) = 2.88675 mm.
    lean = np.array([0.0, np.sin(np.pi / 3), np.cos(np.pi / 3)]) * 30.0
    course = course_through(equal_steps_mm(np.array([-lean, lean])), 1.25)
    assert middle_chord_mm(tube_chords(course, CONE, FACTOR), 20, 20) == pytest.approx(
        2.88675, abs=1e-5
    )


def test_a_tube_ends_in_half_a_ball() -> None:
    # The tube ends on the axis at y = 0; 4 px below, the ray passes 0.75 mm from the ball's
    # centre: 2 * sqrt(1.25**2 - 0.75**2) = 2.0 mm. 7 px below it misses.
    chords = tube_chords(straight((0, -30, 0), (0, 0, 0), 1.25), CONE, FACTOR)
    assert middle_chord_mm(chords, 20, 24) == pytest.approx(2.0, abs=1e-5)
    assert middle_chord_mm(chords, 20, 27) == 0.0


def test_the_chord_lies_about_the_axis_in_depth() -> None:
    # The axis is 750 + 12 mm from the source; near and far are a radius before and behind.
    chords = tube_chords(straight((0, -30, 12), (0, 30, 12), 1.25), CONE, FACTOR)
    middle = chords.cell == (20 * FACTOR + 1) * CONE.columns * FACTOR + 20 * FACTOR + 1
    assert chords.near_mm[middle] == pytest.approx([760.75], abs=1e-9)
    assert chords.far_mm[middle] == pytest.approx([763.25], abs=1e-9)


def test_the_chords_of_a_row_add_up_to_the_circle() -> None:
    # The area of a circle of radius 2 mm is 4 * pi = 12.566 mm2. The rays of the middle row are
    # 750 / 1100 * 0.275 / 3 = 0.0625 mm apart in the plane of the axis. Summing 65 rays is 0.2 %
    # short of the integral, since the circle's wall stands upright.
    chords = tube_chords(straight((0, -30, 0), (0, 30, 0), 2.0), CONE, FACTOR)
    row = chords.cell // (CONE.columns * FACTOR) == 20 * FACTOR + 1
    area_mm2 = float(np.sum((chords.far_mm - chords.near_mm)[row])) * 0.0625
    assert area_mm2 == pytest.approx(4 * np.pi, rel=3e-3)


def test_a_tube_outside_the_picture_meets_no_ray() -> None:
    chords = tube_chords(straight((80, -30, 0), (80, 30, 0), 1.0), CONE, FACTOR)
    assert len(chords.cell) == 0
