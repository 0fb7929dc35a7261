"""Motion traced by the catheter: a line that every frame shows and that moves with the vein.

Bone that stands still pulls the search for the body's motion towards rest. Once the catheter is
known, what each frame still lies off is read from its line.
"""

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d, uniform_filter1d

from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.course import Course, straighten
from coilwright.venogram.motion import Array, moved_before
from coilwright.venogram.subtraction import SubtractedRun

Float = npt.NDArray[np.float32]

# How far off the line is looked for, in radii and pixels; how much of it one reading takes.
REACH_RADII, REACH_PX, STRETCH_PX, STEP_PX = 2.0, 5.0, 15, 6
# Of the line's usual strength: fainter readings do not count. Readings this far off the common
# motion belong to something else.
FAINT_PART, ODD_PX = 0.4, 1.0
ROUNDS = 12
FEWEST_READINGS = 8
# Of a turn that is not well determined, for a course this long or so: it leans to none.
TURN_SD = 0.004
# Corrections below this are not worth another subtraction, and above it are no correction.
WORTH_PX, MOST_PX = 0.2, 8.0


def traced_poses(subtracted: SubtractedRun, catheter: CatheterCourse) -> Array | None:
    """The poses (frames, 3) put right by the catheter's line; None where they were right."""
    if subtracted.poses is None:
        return None
    shape = subtracted.mask.shape
    own = _corrections(subtracted, catheter, shape)
    own -= own[subtracted.reference_frame]
    off = np.hypot(own[:, 0], own[:, 1]) + np.abs(own[:, 2]) * max(shape) / 4.0
    if not WORTH_PX < float(np.sqrt((off**2).mean())) < MOST_PX:
        return None
    return moved_before(subtracted.poses, own)


def _corrections(
    subtracted: SubtractedRun, catheter: CatheterCourse, shape: tuple[int, ...]
) -> Array:
    radius = catheter.look_radius_px
    reach = REACH_RADII * radius + REACH_PX
    across = np.arange(-np.ceil(reach + 2 * radius), np.ceil(reach + 2 * radius) + 1.0)
    course = catheter.course
    at = np.arange(STRETCH_PX, len(course.arc_px) - STRETCH_PX, STEP_PX)
    middle = np.array([(shape[1] - 1) / 2.0, (shape[0] - 1) / 2.0])
    design = _design(course, at, middle)
    strips = [straighten(frame + subtracted.mask, course, across) for frame in subtracted.frames]
    answers = [_line_answer(strip, across, radius, reach)[at] for strip in strips]
    usual = float(np.median([answer.max(1) for answer in answers]))
    return np.array([_common_motion(design, *_peaks(answer, across), usual) for answer in answers])


def _design(course: Course, at: npt.NDArray[np.intp], middle: Array) -> Array:
    """How far a shift (x, y) and a turn about the middle move the line along its normal (N, 3)."""
    normal, place = course.normals_xy[at], course.points_xy[at] - middle
    turn = normal[:, 1] * place[:, 0] - normal[:, 0] * place[:, 1]
    return np.column_stack([normal, turn])


def _line_answer(strip: Array, across: Array, radius_px: float, reach_px: float) -> Array:
    """How much each place across looks like the middle of a line of that width, (N, M)."""
    sigma = max(0.8 * radius_px, 1.0)
    bent = -gaussian_filter1d(strip, sigma, axis=1, order=2, mode="nearest") * sigma**2
    even = uniform_filter1d(bent, STRETCH_PX, axis=0, mode="nearest")
    return np.asarray(np.where(np.abs(across) <= reach_px, even, -np.inf))


def _peaks(answer: Array, across: Array) -> tuple[Array, Array]:
    """Distance off the course at which the line lies, by the parabola at the peak; its strength."""
    top = np.clip(answer.argmax(1), 1, answer.shape[1] - 2)
    rows = np.arange(len(answer))
    left, here, right = (answer[rows, top + k] for k in (-1, 0, 1))
    sound = np.isfinite(left) & np.isfinite(right)
    bend = np.where(sound, left - 2.0 * here + right, -1.0)
    slope = np.where(sound, right - left, 0.0)
    shift = np.clip(-0.5 * slope / np.where(bend < 0.0, bend, -1.0), -1.0, 1.0)
    return across[top] + shift, np.where(sound, here, 0.0)


def _common_motion(design: Array, off_px: Array, strength: Array, usual: float) -> Array:
    """Shift and turn that most readings share (Tukey's biweight, from their median on)."""
    clear = strength > FAINT_PART * usual
    if clear.sum() < FEWEST_READINGS:
        return np.zeros(3)
    rows, off = design[clear], off_px[clear]
    found = np.zeros(3)
    lean = np.diag([1e-6, 1e-6, 1.0 / TURN_SD**2])
    for width in np.geomspace(8.0 * ODD_PX, ODD_PX, ROUNDS):
        weight = np.clip(1.0 - ((off - rows @ found) / (3.0 * width)) ** 2, 0.0, None) ** 2
        weighted = rows * weight[:, None]
        found = np.linalg.solve(weighted.T @ rows + lean, weighted.T @ off)
    return found
