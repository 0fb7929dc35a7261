"""Where rays enter and leave a tube: exact for a locally straight, round tube.

Every pixel is cut into ``factor`` x ``factor`` cells and one ray goes through the middle of each
cell. Near its own nearest sample the tube is a round cylinder along the centreline's direction;
beyond the ends it closes with half a ball. Curvature within one radius is neglected.
"""

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from coilwright.phantom.course import Course
from coilwright.phantom.geometry import Cone, Floats

Cells = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chords:
    """The rays that meet a tube; parallel arrays.

    ``cell`` is row x (columns * factor) + column of the ray's cell, ``near_mm`` and ``far_mm``
    are distances from the source, ``arc_mm`` is where along the tube the ray passes, ``across``
    how far from the centreline in radii, signed.
    """

    cell: Cells
    near_mm: Floats
    far_mm: Floats
    arc_mm: Floats
    across: Floats


def tube_chords(course: Course, cone: Cone, factor: int) -> Chords:
    """Entry and exit of every cell's ray that meets the tube."""
    row, column = _pixels_near(course, cone)
    if not len(row):
        empty = np.empty(0)
        none = np.empty(0, dtype=np.int64)
        return Chords(cell=none, near_mm=empty, far_mm=empty, arc_mm=empty, across=empty)
    # One search per pixel serves its cells: each then slides along the tangent to its own place.
    _, nearest = cKDTree(cone.project_px(course.points_mm)).query(np.column_stack([column, row]))
    within_row, within_column = np.divmod(np.arange(factor**2), factor)
    cell_row = (row[:, None] * factor + within_row).ravel()
    cell_column = (column[:, None] * factor + within_column).ravel()
    cells_px = (np.column_stack([cell_column, cell_row]) + 0.5) / factor - 0.5
    ray = cone.ray_directions(cells_px)
    cell = cell_row * (cone.columns * factor) + cell_column
    return _meet(course, np.repeat(nearest, factor**2), cone.source_mm, ray, cell)


def _meet(course: Course, nearest: Cells, source_mm: Floats, ray: Floats, cell: Cells) -> Chords:
    tangent = course.tangents[nearest]
    to_source = source_mm - course.points_mm[nearest]
    cosine = np.einsum("ij,ij->i", ray, tangent)
    along_ray = np.einsum("ij,ij->i", ray, to_source)
    along_tube = np.einsum("ij,ij->i", tangent, to_source)
    sine2 = np.maximum(1.0 - cosine**2, 1e-6)
    slide_mm = (along_tube - cosine * along_ray) / sine2
    beyond = ((nearest == 0) & (slide_mm < 0)) | (
        (nearest == len(course.arc_mm) - 1) & (slide_mm > 0)
    )
    middle_mm = np.where(beyond, -along_ray, (cosine * along_tube - along_ray) / sine2)
    sine2 = np.where(beyond, 1.0, sine2)
    slide_mm = np.where(beyond, 0.0, slide_mm)
    apart = to_source + middle_mm[:, None] * ray - slide_mm[:, None] * tangent
    arc_mm = course.arc_mm[nearest] + slide_mm
    radius_mm = np.interp(arc_mm, course.arc_mm, course.radius_mm)
    distance2 = np.einsum("ij,ij->i", apart, apart)
    inside = distance2 < radius_mm**2
    half_mm = np.sqrt((radius_mm**2 - distance2)[inside] / sine2[inside])
    side = np.sign(tangent[:, 0] * apart[:, 1] - tangent[:, 1] * apart[:, 0])
    return Chords(
        cell=cell[inside],
        near_mm=middle_mm[inside] - half_mm,
        far_mm=middle_mm[inside] + half_mm,
        arc_mm=arc_mm[inside],
        across=(side * np.sqrt(distance2) / radius_mm)[inside],
    )


def _pixels_near(course: Course, cone: Cone) -> tuple[Cells, Cells]:
    """Rows and columns of pixels with cells whose rays may meet the tube."""
    line_px = cone.project_px(course.points_mm)
    radius_px = course.radius_mm / cone.mm_per_pixel(course.points_mm)
    margin_px = float(radius_px.max()) + 3.0
    size_px = np.array([cone.columns, cone.rows])
    low = np.clip(np.floor(line_px.min(axis=0) - margin_px), 0, size_px).astype(int)
    high = np.clip(np.ceil(line_px.max(axis=0) + margin_px) + 1, 0, size_px).astype(int)
    box = np.zeros((high - low)[::-1], dtype=np.uint8)
    if not box.size:
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    corners = np.round(line_px - low).astype(int)
    for first, last, reach_px in zip(corners[:-1], corners[1:], radius_px[1:], strict=True):
        cv2.line(box, first.tolist(), last.tolist(), 1, int(2 * reach_px) + 5)
    row, column = np.nonzero(box)
    return row + low[1], column + low[0]
