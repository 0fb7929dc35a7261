"""What a catheter's line says of motion that was found wrongly, against shifts that were drawn."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import distance_transform_edt

from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.course import Course, smooth_course
from coilwright.venogram.motion import carried, moved_before
from coilwright.venogram.subtraction import SubtractedRun
from coilwright.venogram.traced_motion import traced_poses

SIZE_PX = 240


def bent_course() -> Course:
    """Up from the border, over, and down again: it shows both directions of a shift."""
    angle = np.linspace(np.pi, 0.0, 60)
    arc = np.column_stack([120.0 + 70.0 * np.cos(angle), 110.0 - 70.0 * np.sin(angle)])
    up = np.column_stack([np.full(40, 50.0), np.linspace(235.0, 112.0, 40)])
    down = np.column_stack([np.full(20, 190.0), np.linspace(112.0, 170.0, 20)])
    return smooth_course(np.concatenate([up, arc, down]), 0.0)


def line_picture(course: Course) -> NDArray[np.float32]:
    off = np.ones((SIZE_PX, SIZE_PX), dtype=bool)
    columns, rows = np.rint(course.points_xy).astype(int).T
    off[rows, columns] = False
    away = distance_transform_edt(off)
    line: NDArray[np.float32] = (0.3 * np.exp(-0.5 * (away / 2.0) ** 2)).astype(np.float32)
    return line


def run_that_lies_off(true_poses: NDArray[np.float64], found: NDArray[np.float64]) -> SubtractedRun:
    """Frames brought back by ``found`` though they moved by ``true_poses`` (shifts alone)."""
    random = np.random.default_rng(5)
    line = line_picture(bent_course())
    frames = np.stack(
        [
            carried(line, true - wrong) - line + random.normal(0.0, 0.01, line.shape)
            for true, wrong in zip(true_poses, found, strict=True)
        ]
    ).astype(np.float32)
    return SubtractedRun(
        frames=frames,
        mask=line,
        field=np.ones(line.shape, dtype=np.bool_),
        mask_frames=(0,),
        reference_frame=0,
        shifts_px=found[:, :2],
        poses=found,
        notices=(),
    )


def test_shifts_that_were_found_too_small_are_put_right() -> None:
    # Drawn: a breath of 8 pixels, of which nine tenths were found, and a shift to the side missed.
    true = np.zeros((6, 3))
    true[:, 1], true[:, 0] = np.linspace(0.0, 8.0, 6), np.linspace(0.0, -1.5, 6)
    found = true * np.array([0.0, 0.9, 1.0])
    catheter = CatheterCourse(course=bent_course(), look_radius_px=3.0)
    traced = traced_poses(run_that_lies_off(true, found), catheter)
    assert traced is not None
    assert traced[:, :2] == pytest.approx(true[:, :2], abs=0.15)
    assert traced[:, 2] == pytest.approx(0.0, abs=0.002)


def test_motion_that_was_found_right_stays() -> None:
    true = np.zeros((6, 3))
    true[:, 1] = np.linspace(0.0, 8.0, 6)
    catheter = CatheterCourse(course=bent_course(), look_radius_px=3.0)
    assert traced_poses(run_that_lies_off(true, true), catheter) is None


def test_a_pose_of_its_own_comes_before_the_frames() -> None:
    # By hand: a frame turned by a right angle carries (1, 0) of the reference frame to (0, 1).
    moved = moved_before(np.array([[5.0, 7.0, np.pi / 2]]), np.array([[1.0, 0.0, 0.0]]))
    assert moved[0] == pytest.approx([5.0, 8.0, np.pi / 2])
