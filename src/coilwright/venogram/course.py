"""A course through the picture: smooth points one pixel apart, and what lies across it."""

import warnings
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline, splev, splrep
from scipy.ndimage import map_coordinates

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A smooth line. ``points_xy`` (N, 2) in pixels; ``normals_xy`` its unit left normals.

    ``arc_px`` (N,) is the distance along it from the first point.
    """

    points_xy: Array
    normals_xy: Array
    arc_px: Array

    @property
    def length_px(self) -> float:
        """Distance from the first point to the last."""
        return float(self.arc_px[-1])

    def turned(self) -> "Course":
        """The same course from its other end."""
        return Course(
            points_xy=self.points_xy[::-1],
            normals_xy=-self.normals_xy[::-1],
            arc_px=self.arc_px[-1] - self.arc_px[::-1],
        )

    def moved(self, offsets_px: Array, smooth_px: float) -> "Course":
        """The course shifted along its normals, then smoothed."""
        return smooth_course(self.points_xy + offsets_px[:, None] * self.normals_xy, smooth_px)


def smooth_course(points_xy: Array, smooth_px: float, step_px: float = 1.0) -> Course:
    """A smoothing spline through points, sampled at equal steps of arc.

    Parameters
    ----------
    points_xy : (N, 2), pixels, N >= 2
    smooth_px : expected scatter of the points about the true line, >= 0
    """
    points = _distinct(np.asarray(points_xy, dtype=np.float64))
    chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    if len(points) > 4 and smooth_px > 0:
        with warnings.catch_warnings():
            # Where the wanted smoothness is not met to the last digit, the nearest one will do.
            warnings.simplefilter("ignore", RuntimeWarning)
            splines = [splrep(chord, line, s=len(points) * smooth_px**2) for line in points.T]
        points = np.column_stack([splev(chord, spline) for spline in splines])
        chord = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return _sampled(points, chord, step_px)


def _distinct(points: Array) -> Array:
    step = np.hypot(*np.diff(points, axis=0).T)
    kept: Array = points[np.concatenate([[True], step > 1e-6])]
    return kept


def _sampled(points: Array, chord: Array, step_px: float) -> Course:
    spline = CubicSpline(chord, points, axis=0) if len(points) > 2 else None
    count = max(2, round(float(chord[-1]) / step_px) + 1)
    at = np.linspace(0.0, float(chord[-1]), count)
    if spline is None:
        line = np.column_stack([np.interp(at, chord, points[:, axis]) for axis in (0, 1)])
        tangent = np.broadcast_to(points[-1] - points[0], line.shape)
    else:
        line, tangent = spline(at), spline(at, 1)
    unit = tangent / np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-9)[:, None]
    normals = np.column_stack([-unit[:, 1], unit[:, 0]])
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    return Course(points_xy=line, normals_xy=normals, arc_px=arc)


def straighten(
    picture: npt.NDArray[np.float32], course: Course, across_px: Array, *, order: int = 3
) -> Array:
    """The picture resampled along a course: (along, across), edges repeated.

    Parameters
    ----------
    picture : (rows, columns) or (frames, rows, columns)
    across_px : (M,) distances along the normal
    order : of the spline; 1 is linear, and four times as fast as the cubic
    """
    x = course.points_xy[:, 0, None] + course.normals_xy[:, 0, None] * across_px
    y = course.points_xy[:, 1, None] + course.normals_xy[:, 1, None] * across_px
    if picture.ndim == 3:
        return np.stack([straighten(frame, course, across_px, order=order) for frame in picture])
    box, shift = _window(picture, x, y)
    values = map_coordinates(box, [y - shift[1], x - shift[0]], order=order, mode="nearest")
    return np.asarray(values, dtype=np.float64)


def _window(
    picture: npt.NDArray[np.float32], x: Array, y: Array
) -> tuple[npt.NDArray[np.float32], tuple[int, int]]:
    """The part of the picture that the samples need: filtering the rest would be waste."""
    rows, columns = picture.shape
    x0, x1 = (int(np.clip(v, 0, columns - 1)) for v in (x.min() - 12, x.max() + 13))
    y0, y1 = (int(np.clip(v, 0, rows - 1)) for v in (y.min() - 12, y.max() + 13))
    return picture[y0 : y1 + 1, x0 : x1 + 1], (x0, y0)
