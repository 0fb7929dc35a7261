"""Profiles across a course made of the pixels themselves, not of interpolated values.

Interpolation blurs a line a few pixels wide, by an amount that depends on its slant, and makes
neighbouring values share their noise. Here every pixel near the course goes to the stretch and to
the distance at which it lies, and the profile is the mean of the pixels at a distance.
"""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.venogram.course import Course

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

BIN_PX = 0.5
# The mean over a bin is a blur of its own: a box has a variance of one twelfth of its width.
BIN_SIGMA_PX = BIN_PX / 12**0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretches:
    """Which pixels lie at which distance from each of a row of stretches along a course.

    ``across_px`` (N, M) is the mean distance of the pixels of a bin, to the left of the course;
    ``pixels`` (N, M) how many there are; ``middle_xy`` (N, 2) the middle of each stretch.
    """

    across_px: Array
    pixels: Array
    middle_xy: Array
    _bin: npt.NDArray[np.intp]
    _pixel: npt.NDArray[np.intp]

    def of(self, picture: Float) -> Array:
        """Mean of a picture's pixels in each bin (N, M); 0 where there is none."""
        values = picture.ravel()[self._pixel].astype(np.float64)
        total = np.bincount(self._bin, values, minlength=self.pixels.size)
        return np.asarray(total.reshape(self.pixels.shape) / np.maximum(self.pixels, 1.0))


def stretches(
    shape: tuple[int, int], course: Course, starts_px: Array, length_px: float, half_px: float
) -> Stretches:
    """The stretches of ``length_px`` that start at the given arcs, out to ``half_px`` each side.

    ``shape`` is that of the pictures. Stretches must not overlap.
    """
    pixel, off, along = _pixels_near(shape, course, half_px)
    bins = 2 * int(np.ceil(half_px / BIN_PX)) + 1
    place = np.floor(off / BIN_PX + bins / 2.0).astype(np.intp)
    number = np.searchsorted(starts_px, along, side="right") - 1
    inside = (place >= 0) & (place < bins) & (number >= 0)
    inside &= along < starts_px[np.maximum(number, 0)] + length_px
    index = number[inside] * bins + place[inside]
    size = len(starts_px) * bins
    pixels = np.bincount(index, minlength=size).astype(np.float64)
    centre = np.tile((np.arange(bins) - (bins - 1) / 2.0) * BIN_PX, len(starts_px))
    mean_off = np.bincount(index, off[inside], minlength=size) / np.maximum(pixels, 1.0)
    middle = np.searchsorted(course.arc_px, starts_px + length_px / 2.0)
    return Stretches(
        across_px=np.where(pixels > 0, mean_off, centre).reshape(-1, bins),
        pixels=pixels.reshape(-1, bins),
        middle_xy=course.points_xy[np.minimum(middle, len(course.points_xy) - 1)],
        _bin=index,
        _pixel=pixel[inside],
    )


def _pixels_near(
    shape: tuple[int, int], course: Course, half_px: float
) -> tuple[npt.NDArray[np.intp], Array, Array]:
    """Flat index of each pixel near the course, its signed distance and its place along it."""
    near = np.zeros(shape, np.uint8)
    line = np.rint(course.points_xy).astype(np.int32).reshape(-1, 1, 2)
    cv2.polylines(near, [line], False, 1, int(2.0 * half_px + 4.0))
    rows, columns = np.nonzero(near)
    points = np.column_stack([columns, rows]).astype(np.float64)
    _, nearest = cKDTree(course.points_xy).query(points)
    away = points - course.points_xy[nearest]
    normal = course.normals_xy[nearest]
    off = (away * normal).sum(1)
    along = course.arc_px[nearest] + away[:, 0] * normal[:, 1] - away[:, 1] * normal[:, 0]
    return np.asarray(rows * shape[1] + columns), off, along
