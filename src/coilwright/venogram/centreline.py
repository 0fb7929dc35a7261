"""Centrelines: strands of skeleton pixels drawn to the middle of the vein and to its true ends."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d

from coilwright.venogram.blurred_cylinder import Shape
from coilwright.venogram.calibre import CylinderFits, fit_cylinders
from coilwright.venogram.course import Course, smooth_course, straighten
from coilwright.venogram.meeting import Wall
from coilwright.venogram.tree import Strand

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

SKELETON_SCATTER_PX = 0.6
FITTED_SCATTER_PX = 0.08
# More steps of a fit are spent on what is no cylinder.
ROUGH_STEPS = 10
STEP_PX = 4
WOUND_SMOOTH_PX = 1.5
WIDEST_PART = 1.4
ROUNDS = 2
# The blur that centrelines are drawn with, before it has been measured.
FIRST_SIGMA_PX = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Centreline:
    """A course down the middle of a strand, with the radius at each of its points (N,)."""

    strand: Strand
    course: Course
    radius_px: Array


def draw_centreline(
    picture: Float,
    strand: Strand,
    scale_px: Float,
    sigma_px: float = FIRST_SIGMA_PX,
    *,
    wall: Wall | None = None,
) -> Centreline:
    """The middle of a strand, by fitting cylinders along it and moving onto their axes.

    Within another vessel's ``wall`` it stays as it is: what would be fitted there is the other's.
    """
    course = smooth_course(strand.points_xy, SKELETON_SCATTER_PX)
    radius = _seed_radius(course, scale_px)
    # Where it opens into a wide vein, scale and fit are that vein's.
    widest = WIDEST_PART * float(np.median(radius)) if strand.attachments else np.inf
    radius = np.minimum(radius, widest)
    for _ in range(ROUNDS):
        fits, at = rough_fits(picture, course, radius, sigma_px)
        trusted = fits.peak_opacity > 0
        if wall is not None:
            away, nearest = wall.distance_to(course.points_xy[at])
            trusted &= away > wall.radius_px[nearest] + np.minimum(radius[at], widest)
        found = np.minimum(fits.radius_px, widest)
        limit = np.maximum(0.6 * found, 1.5)
        offset = np.where(trusted, np.clip(fits.offset_px, -limit, limit), 0.0)
        every = np.arange(len(course.arc_px))
        moved = np.interp(every, at, gaussian_filter1d(offset, 1.0, mode="nearest"))
        radius_here = np.interp(every, at, np.clip(found, 0.5, 3.0 * radius[at]))
        before = course.arc_px / max(course.length_px, 1e-9)
        course = course.moved(moved, FITTED_SCATTER_PX)
        after = course.arc_px / max(course.length_px, 1e-9)
        radius = np.interp(after, before, gaussian_filter1d(radius_here, 3.0, mode="nearest"))
    return Centreline(strand=strand, course=course, radius_px=radius)


def wound_line(_picture: Float, strand: Strand, scale_px: Float) -> Centreline:
    """The way through a tangle as its strands were found: nothing in it stands alone to be fitted.

    Straight from one strand to the next.
    """
    steps = np.hypot(*np.diff(strand.points_xy, axis=0).T)
    arc = np.concatenate([[0.0], np.cumsum(steps)])
    every = np.linspace(0.0, float(arc[-1]), max(4, round(float(arc[-1]))))
    even = np.column_stack([np.interp(every, arc, strand.points_xy[:, axis]) for axis in (0, 1)])
    course = smooth_course(gaussian_filter1d(even, WOUND_SMOOTH_PX, axis=0, mode="nearest"), 0.0)
    return Centreline(strand=strand, course=course, radius_px=_seed_radius(course, scale_px))


def _seed_radius(course: Course, scale_px: Float) -> Array:
    columns, rows = np.rint(course.points_xy).astype(int).T
    rows = rows.clip(0, scale_px.shape[0] - 1)
    columns = columns.clip(0, scale_px.shape[1] - 1)
    values = scale_px[rows, columns].astype(np.float64) * 1.25
    return np.asarray(gaussian_filter1d(values, 6.0, mode="nearest"))


def rough_fits(
    picture: Float, course: Course, radius_px: Array, sigma_px: float
) -> tuple[CylinderFits, npt.NDArray[np.intp]]:
    """Fits to every fourth point of a course, each over its neighbours; and which points."""
    half = 1.7 * float(radius_px.max()) + 4.0
    across = np.linspace(-half, half, 2 * int(np.ceil(half)) + 1)
    strip = gaussian_filter1d(straighten(picture, course, across), 3.0, axis=0, mode="nearest")
    at = np.arange(0, len(strip), STEP_PX)
    if at[-1] != len(strip) - 1:
        at = np.append(at, len(strip) - 1)
    reach = 1.7 * radius_px[at] + 4.0
    weights = (np.abs(across)[None, :] <= reach[:, None]).astype(np.float64)
    # Only the axis and a rough width are wanted: a wide vein needs no fine blur for that.
    shape = Shape(sigma_px=max(sigma_px, 0.15 * float(np.median(radius_px))))
    fits = fit_cylinders(strip[at], across, weights, shape, radius_px[at], rounds=ROUGH_STEPS)
    return fits, at


def without_lumen_at_start(line: Centreline, on_lumen: npt.NDArray[np.bool_]) -> Centreline:
    """The centreline from where the vein begins, if it starts on a catheter's filled lumen.

    ``on_lumen`` (N,) marks points that lie on the catheter and are narrower than it. The vein
    begins where the width is halfway between the lumen's and its own.
    """
    if not on_lumen[: len(on_lumen) // 20 + 1].any():
        return line
    clear = np.flatnonzero(~on_lumen)
    if not clear.size:
        return line
    own = float(np.median(line.radius_px[clear[0] : clear[0] + max(10, len(clear) // 8)]))
    halfway = 0.5 * (own + float(np.median(line.radius_px[: clear[0] + 1])))
    wide = np.flatnonzero(line.radius_px >= halfway)
    start = int(min(wide[0], clear[0])) if wide.size else int(clear[0])
    if len(line.radius_px) - start < 8:
        return line
    course = smooth_course(line.course.points_xy[start:], 0.0)
    where = np.linspace(start, len(line.radius_px) - 1, len(course.arc_px))
    radius = np.interp(where, np.arange(len(line.radius_px)), line.radius_px)
    return Centreline(strand=line.strand, course=course, radius_px=radius)


def reach_true_ends(
    picture: Float, line: Centreline, *, free_start: bool, free_end: bool
) -> tuple[Centreline, bool]:
    """The centreline carried on to where the contrast ends; and whether it leaves the frame.

    A skeleton stops about one radius short of a blunt end.
    """
    before, out_start = (
        _onward(picture, line, reverse=True) if free_start else (np.empty((0, 2)), False)
    )
    after, out_end = (
        _onward(picture, line, reverse=False) if free_end else (np.empty((0, 2)), False)
    )
    points = np.concatenate([before[::-1], line.course.points_xy, after])
    radius = np.concatenate(
        [
            np.full(len(before), line.radius_px[0]),
            line.radius_px,
            np.full(len(after), line.radius_px[-1]),
        ]
    )
    course = smooth_course(points, 0.0)
    where = course.arc_px / max(course.length_px, 1e-9) * (len(radius) - 1)
    carried = Centreline(
        strand=line.strand,
        course=course,
        radius_px=np.interp(where, np.arange(len(radius)), radius),
    )
    return carried, out_start or out_end


def _onward(picture: Float, line: Centreline, *, reverse: bool) -> tuple[Array, bool]:
    """Points beyond one end up to half of the opacity before it, and whether the frame ends."""
    points = line.course.points_xy[::-1] if reverse else line.course.points_xy
    radius = float((line.radius_px[::-1] if reverse else line.radius_px)[-1])
    back = min(len(points) - 1, max(6, round(2.0 * radius)))
    heading = points[-1] - points[-1 - back]
    heading = heading / max(float(np.hypot(*heading)), 1e-9)
    start = points[-1]
    steps = np.arange(1.0, 3.0 * radius + 6.0)
    ray = start + steps[:, None] * heading
    rows, columns = picture.shape
    inside = (ray[:, 0] > 0) & (ray[:, 1] > 0) & (ray[:, 0] < columns - 1) & (ray[:, 1] < rows - 1)
    count = len(steps) if inside.all() else int(np.argmin(inside))
    if count < 2:
        return np.empty((0, 2)), True
    level = _opacity_along(picture, ray[:count], heading, radius)
    own = points[max(0, len(points) - 1 - 2 * back) : len(points) - max(3, back // 2)]
    known = _opacity_along(picture, own, heading, radius)
    half = 0.5 * float(np.median(known)) if len(known) else 0.5 * float(level[0])
    below = np.flatnonzero(level < half)
    reached = int(below[0]) if below.size else count
    leaves = reached == count and count < len(steps)
    return ray[: min(reached, count)], leaves


def _opacity_along(picture: Float, points: Array, heading: Array, radius: float) -> Array:
    """Opacity of the middle of the vein over what lies beside it, at each point."""
    normal = np.array([-heading[1], heading[0]])
    line = Course(
        points_xy=points,
        normals_xy=np.broadcast_to(normal, points.shape),
        arc_px=np.arange(len(points), dtype=np.float64),
    )
    inner = straighten(picture, line, np.linspace(-0.4, 0.4, 5) * radius).mean(1)
    beside = np.array([-1.0, 1.0]) * (1.5 * radius + 3.0)
    return np.asarray(inner - straighten(picture, line, beside).min(1))
