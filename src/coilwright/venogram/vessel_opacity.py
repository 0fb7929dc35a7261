"""How much contrast a run shows along the vessels of a map that is laid on it."""

from dataclasses import dataclass
from itertools import pairwise

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree

from coilwright.veins import Affine, Vessel
from coilwright.venogram.opacification import pixel_noise

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

WINDOW_MM = 5.0
# The catheter's filled lumen is a quarter of a vein's width: the median across does not see it.
ACROSS_SHARE, ACROSS = 0.7, 9
# The same course beside the vein shows what motion and noise make of nothing.
BESIDE_RADII, BESIDE_PX, BESIDE_STEP_PX, BESIDE_EACH_SIDE = 1.8, 3.0, 2.5, 4
FEWEST_BESIDE = 3
# A vein may lie this far beside its course still: what is called empty was looked for there too.
VEIN_MOVES_MM, LANES = 2.0, 5
# Bones stand still while breathing moves the veins by up to this (rendered runs: 4.4 mm).
BREATHING_MM = 6.0
HELD_BY_BONE = 0.2
# Less than this over the place that bone gave is noise.
LEAST_GAIN = 1.25
SEEN_SD = 5.0
FLOOR_SHARE = 0.005
USUAL_RADIUS_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A short stretch of a vessel: opacity over its surroundings with sd, in absorption.

    ``opacity`` null where the open field does not hold it or too little lies beside it.
    """

    vessel: str
    from_mm: float
    to_mm: float
    opacity: float | None
    sd: float

    @property
    def seen(self) -> bool:
        """Whether contrast stands out here."""
        return self.opacity is not None and self.opacity > SEEN_SD * self.sd

    @property
    def middle_mm(self) -> float:
        """The arc of its middle."""
        return (self.from_mm + self.to_mm) / 2.0


def strongest(frames: Float, mask_frames: tuple[int, ...]) -> Float:
    """The strongest contrast that each pixel shows over three frames running, (rows, columns)."""
    after = [t for t in range(len(frames)) if t not in mask_frames]
    best = np.full(frames.shape[1:], -np.inf, np.float32)
    for first in range(max(1, len(after) - 2)):
        best = np.maximum(best, frames[after[first : first + 3]].mean(0))
    return np.asarray(cv2.GaussianBlur(best, (0, 0), 0.8), dtype=np.float32)


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """The map's vessels laid on a run's picture: points (N, 2) and radii in its pixels.

    ``moves_px`` is how far a vein may still lie beside its course.
    """

    vessels: tuple[Vessel, ...]
    points: dict[str, Array]
    radii: dict[str, Array]
    moves_px: float


def laid_on(vessels: tuple[Vessel, ...], to_map_px: Affine, mm_per_pixel: float) -> Laid:
    """The vessels in the grid of the run that ``to_map_px`` carries into the map's."""
    ratio, x, y = to_map_px[0][0], to_map_px[0][2], to_map_px[1][2]
    points, radii = {}, {}
    for vessel in vessels:
        points[vessel.id] = (np.asarray(vessel.points_px, dtype=np.float64) - (x, y)) / ratio
        widths = np.array([np.nan if d is None else d for d in vessel.diameter_mm])
        known = np.flatnonzero(np.isfinite(widths))
        radius_mm = np.full(len(widths), USUAL_RADIUS_MM)
        if known.size:
            radius_mm = np.interp(np.arange(len(widths)), known, widths[known]) / 2.0
        radii[vessel.id] = np.maximum(radius_mm / mm_per_pixel / ratio, 1.0)
    moves_px = VEIN_MOVES_MM / mm_per_pixel / ratio
    return Laid(vessels=vessels, points=points, radii=radii, moves_px=moves_px)


def moved_onto_contrast(picture: Float, laid: Laid, mm_per_pixel: float) -> tuple[float, float]:
    """How far the vessels must be shifted to lie on the contrast that is seen, (x, y) in pixels.

    Bone gives the place; breathing moves the vein on it. Where nothing opacifies no shift is
    better than another, and none is made.
    """
    reach_px = BREATHING_MM / mm_per_pixel
    smooth = cv2.GaussianBlur(picture, (0, 0), 1.5)
    points = np.concatenate([laid.points[v.id][::2] for v in laid.vessels])
    radius = float(np.median(np.concatenate([laid.radii[v.id] for v in laid.vessels])))
    # Contrast beside the course counts against a shift, so that broad shading favours none.
    ring = cv2.GaussianBlur(picture, (0, 0), 3.0 * radius)
    answer = np.asarray(smooth - ring, dtype=np.float32)
    steps = np.arange(-np.floor(reach_px), np.floor(reach_px) + 1.0)
    best, unmoved, shift = 0.0, 0.0, (0.0, 0.0)
    for dy in steps:
        for dx in steps:
            away = float(np.hypot(dx, dy))
            if away > reach_px:
                continue
            where = [points[:, 1] + dy, points[:, 0] + dx]
            values = map_coordinates(answer, where, order=0, mode="constant")
            score = float(np.maximum(values, 0.0).mean()) * (1.0 - HELD_BY_BONE * away / reach_px)
            if away == 0.0:
                unmoved = score
            if score > best:
                best, shift = score, (float(dx), float(dy))
    return shift if best > LEAST_GAIN * unmoved else (0.0, 0.0)


def windows_along(picture: Float, field: npt.NDArray[np.bool_], laid: Laid) -> list[Window]:
    """Windows of about 5 mm along every vessel, in the order of the map."""
    # Glare and what registration leaves are in proportion to the contrast that is there.
    noise = pixel_noise(picture)
    floor = FLOOR_SHARE * max(float(np.percentile(picture[field], 99.8)), 0.0)
    return [
        window
        for v in laid.vessels
        for window in _of_vessel(picture, field, laid, v, (noise, floor))
    ]


def _of_vessel(
    picture: Float,
    field: npt.NDArray[np.bool_],
    laid: Laid,
    vessel: Vessel,
    noise: tuple[float, float],
) -> list[Window]:
    points, radius = laid.points[vessel.id], laid.radii[vessel.id]
    if len(points) < 3:
        return []
    normals = _normals(points)
    open_field = _lit(field, points)
    across = np.linspace(-ACROSS_SHARE, ACROSS_SHARE, ACROSS)
    lanes = np.array(
        [
            np.median(
                [_values(picture, points + normals * (s * radius + o)[:, None]) for s in across], 0
            )
            for o in np.linspace(-laid.moves_px, laid.moves_px, LANES)
        ]
    )
    beside = _beside(picture, field, laid, vessel.id, normals)
    arcs = np.asarray(vessel.arc_mm)
    count = max(1, round(float(arcs[-1] - arcs[0]) / WINDOW_MM))
    edges = np.linspace(arcs[0], arcs[-1], count + 1)
    windows = []
    for low, high in pairwise(edges):
        part = (arcs >= low) & (arcs <= high)
        opacity, sd = _over_surroundings(lanes[:, part], beside[:, part], noise)
        if open_field[part].mean() < 0.7:
            opacity = None
        windows.append(
            Window(vessel=vessel.id, from_mm=float(low), to_mm=float(high), opacity=opacity, sd=sd)
        )
    return windows


def _over_surroundings(
    lanes: Array, beside: Array, noise_floor: tuple[float, float]
) -> tuple[float | None, float]:
    """The fullest lane's mean over the middle of the courses beside, and the scatter of those."""
    noise, floor = noise_floor
    known = np.isfinite(beside).mean(1) > 0.5
    if known.sum() < FEWEST_BESIDE:
        return None, noise
    means = np.nanmean(beside[known], axis=1)
    spread = 1.4826 * float(np.median(np.abs(means - np.median(means))))
    sd = float(np.sqrt(spread**2 + noise**2 / max(lanes.shape[1], 1) + floor**2))
    return float(lanes.mean(1).max() - np.median(means)), max(sd, 1e-6)


def _beside(
    picture: Float, field: npt.NDArray[np.bool_], laid: Laid, vessel_id: str, normals: Array
) -> Array:
    """The same course displaced to both sides, (courses, points); NaN on other vessels."""
    points, radius = laid.points[vessel_id], laid.radii[vessel_id]
    trees = {
        other: cKDTree(laid.points[other]) for other in laid.points if len(laid.points[other]) > 1
    }
    courses = []
    for side in (-1.0, 1.0):
        for step in range(BESIDE_EACH_SIDE):
            away = BESIDE_RADII * radius + BESIDE_PX + laid.moves_px + step * BESIDE_STEP_PX
            moved = points + normals * (side * away)[:, None]
            values = _values(picture, moved)
            values[~_lit(field, moved)] = np.nan
            for other, tree in trees.items():
                distance, nearest = tree.query(moved)
                values[distance < laid.radii[other][nearest] + BESIDE_PX - 0.5] = np.nan
            courses.append(values)
    return np.array(courses)


def _normals(points: Array) -> Array:
    along = np.gradient(points, axis=0)
    unit = along / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    return np.column_stack([-unit[:, 1], unit[:, 0]])


def _values(picture: Float, points: Array) -> Array:
    where = [points[:, 1], points[:, 0]]
    return np.asarray(map_coordinates(picture, where, order=1, mode="nearest"), dtype=np.float64)


def _lit(field: npt.NDArray[np.bool_], points: Array) -> npt.NDArray[np.bool_]:
    rows, columns = field.shape
    x, y = np.rint(points).astype(int).T
    inside = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
    lit: npt.NDArray[np.bool_] = inside & field[y.clip(0, rows - 1), x.clip(0, columns - 1)]
    return lit
