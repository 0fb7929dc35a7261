"""Strands that are no veins: what a moved edge leaves, and what does not fill as contrast does.

A vein is brighter than both of its sides along most of its way, from the front's arrival on and
never before. Gas that drifted and bone edges that a shift missed leave a bright band with a dark
one beside it, come and go, or are there in the frames before contrast.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.venogram.course import smooth_course
from coilwright.venogram.tree import Strand

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

# Share of a strand that must stand above both of its sides.
LEAST_ABOVE = 0.8
# How far its lower side may lie from what lies farther out, as a part of the strand's own height:
# one edge of gas is dark on one side, a step of bone is not lower on both.
MOST_UNEVEN = 0.35
# Part of its early height that must be left late.
LEAST_LASTING = 0.35
# Part of its late height that it may show before contrast has come to where it leaves the trunk.
MOST_BEFORE = 0.4
ARRIVED = 0.15
FEWEST_BEFORE = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """Contrast over time: ``frames`` subtracted (frames, rows, columns), and which hold what."""

    frames: Float
    mask_frames: tuple[int, ...]
    full_frames: tuple[int, ...]


def without_false(strands: list[Strand], filling: Filling, scale_px: Float) -> list[Strand]:
    """The trunk and what fills as a vein does; what hangs on a false strand goes with it."""
    if not filling.mask_frames or len(filling.full_frames) < 1:
        return strands
    new_index: dict[int, int] = {0: 0}
    kept = strands[:1]
    for index, strand in enumerate(strands[1:], start=1):
        parents = [attachment.parent for attachment in strand.attachments]
        if any(parent not in new_index for parent in parents):
            continue
        if not _fills(strand, strands[0], filling, scale_px):
            continue
        new_index[index] = len(kept)
        moved = tuple(replace(a, parent=new_index[a.parent]) for a in strand.attachments)
        kept.append(replace(strand, attachments=moved))
    return kept


def _fills(strand: Strand, trunk: Strand, filling: Filling, scale_px: Float) -> bool:
    """Whether a strand looks and fills like a vein beyond the trunk's own wall."""
    profile = _profiles(strand, trunk, filling, scale_px)
    if profile is None:
        return True
    height, above, side = _shape(profile[list(filling.full_frames)].mean(0))
    if height <= 0 or above < LEAST_ABOVE or abs(side) > MOST_UNEVEN * height:
        return False
    heights = np.array([_height(frame) for frame in profile])
    full = heights[list(filling.full_frames)]
    half = max(1, len(full) // 2)
    early, late = float(full[:half].mean()), float(full[-half:].mean())
    before = _before_arrival(strand, trunk, filling)
    shown_before = len(before) >= FEWEST_BEFORE and float(
        np.median(np.abs(heights[before]))
    ) > MOST_BEFORE * max(early, late)
    return late > LEAST_LASTING * early and not shown_before


def _before_arrival(strand: Strand, trunk: Strand, filling: Filling) -> list[int]:
    """Frames after the mask's in which the trunk is still empty where the strand leaves it."""
    away = np.hypot(*(trunk.points_xy - strand.points_xy[0]).T)
    rows, columns = filling.frames.shape[1:]
    x, y = (int(v) for v in np.rint(trunk.points_xy[int(np.argmin(away))]))
    x, y = min(max(x, 1), columns - 2), min(max(y, 1), rows - 2)
    curve = filling.frames[:, y - 1 : y + 2, x - 1 : x + 2].mean((1, 2))
    arrival = int(np.argmax(curve > ARRIVED * curve.max()))
    return [frame for frame in range(arrival) if frame not in filling.mask_frames]


def _profiles(strand: Strand, trunk: Strand, filling: Filling, scale_px: Float) -> Array | None:
    """Opacity across the free part of a strand in every frame, (frames, points, 5).

    Columns: far and near on one side, the middle, near and far on the other.
    """
    course = smooth_course(strand.points_xy, 0.6)
    columns, rows = np.rint(course.points_xy).astype(int).T
    shape = scale_px.shape
    radius = 1.25 * scale_px[rows.clip(0, shape[0] - 1), columns.clip(0, shape[1] - 1)]
    own = float(np.median(radius))
    free = _free_of(course.points_xy, trunk, scale_px, own)
    if free.sum() < 8:
        return None
    offsets = np.array([-3.6, -2.0, 0.0, 2.0, 3.6]) * own + np.array([-3.0, -1.0, 0.0, 1.0, 3.0])
    points, normals = course.points_xy[free], course.normals_xy[free]
    x = (points[:, :1] + normals[:, :1] * offsets).astype(np.float32)
    y = (points[:, 1:] + normals[:, 1:] * offsets).astype(np.float32)
    blurred = (
        cv2.remap(f, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        for f in filling.frames
    )
    return np.array([cv2.blur(f, (1, 9)) for f in blurred], dtype=np.float64)


def _free_of(
    points_xy: Array, trunk: Strand, scale_px: Float, own_px: float
) -> npt.NDArray[np.bool_]:
    """Points well beyond the trunk's wall."""
    rows, columns = scale_px.shape
    away = np.full((rows, columns), 1, np.uint8)
    there = np.rint(trunk.points_xy).astype(int)
    away[there[:, 1].clip(0, rows - 1), there[:, 0].clip(0, columns - 1)] = 0
    distance = cv2.distanceTransform(away, cv2.DIST_L2, 5)
    x, y = np.rint(points_xy).astype(int).T
    trunk_radius = 1.25 * float(
        np.median(scale_px[there[:, 1].clip(0, rows - 1), there[:, 0].clip(0, columns - 1)])
    )
    far = distance[y.clip(0, rows - 1), x.clip(0, columns - 1)]
    return np.asarray(far > 1.3 * trunk_radius + 3.6 * own_px + 3.0)


def _shape(profile: Array) -> tuple[float, float, float]:
    """Height over the sides, share of points above both, and the darker side against far out."""
    middle, sides = profile[:, 2], profile[:, [1, 3]]
    above = float((middle > sides.max(1)).mean())
    far = float(np.median(profile[:, [0, 4]], axis=0).min())
    darker = float(np.median(sides, axis=0).min()) - far
    return _height(profile), above, darker


def _height(profile: Array) -> float:
    return float(np.median(profile[:, 2] - profile[:, [1, 3]].mean(1)))
