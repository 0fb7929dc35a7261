"""Strands that are no veins: what a moved edge leaves, and what does not fill as contrast does.

A vein is brighter than both of its sides along most of its way, from the front's arrival on and
never before. Gas that drifted and bone edges that a shift missed leave a bright band with a dark
one beside it, come and go, or are there in the frames before contrast.
"""

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.veins import VesselKind
from coilwright.venogram.course import smooth_course
from coilwright.venogram.tree import Strand

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]
# Points of a strand's free part, and the opacity across it in every frame.
Free = tuple[Array, Array]

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
# A height that follows a straight line in time this closely, and has come this far when contrast
# reaches the trunk beside it, is a drift: contrast comes with a front.
DRIFT_EXPLAINED, DRIFT_BEFORE = 0.9, 0.2
# ... and part of that in the earlier half of those frames, where there are enough to tell.
DRIFT_HALFWAY, LONG_BEFORE = 0.2, 4


# Of a tangle, what holds less than this part of its usual contrast is no strand of it.
LEAST_LIT = 0.3
# Frames that contrast takes to rise at one place: of the trunk's own, and some more.
SLOWER, SLOWER_BY = 1.3, 1.5
RISE_PARTS = 0.4, 0.8
# A free end is judged by windows of this length; it must keep this part of the strand's height.
END_WINDOW_PX, END_STEP_PX, LEAST_END_PART = 28, 7, 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """Contrast over time: ``frames`` subtracted (frames, rows, columns), and which hold what."""

    frames: Float
    mask_frames: tuple[int, ...]
    full_frames: tuple[int, ...]


def without_false(
    strands: list[Strand], filling: Filling, scale_px: Float, *, loose_like_trunk: bool = False
) -> list[Strand]:
    """The trunk and what fills as a vein does; what hangs on a false strand goes with it.

    With ``loose_like_trunk``, what joins nothing must also fill with a front as steep as the
    trunk's, since nothing else ties it to the tree.
    """
    if not filling.mask_frames or len(filling.full_frames) < 1:
        return strands
    new_index: dict[int, int] = {0: 0}
    kept = strands[:1]
    for index, strand in enumerate(strands[1:], start=1):
        parents = [attachment.parent for attachment in strand.attachments]
        if any(parent not in new_index for parent in parents):
            continue
        free = _free_profiles(strand, strands[0], filling, scale_px)
        if loose_like_trunk and not parents and not _rises_as_trunk(free, strands[0], filling):
            continue
        if free is not None and not _fills(strand, free[1], strands[0], filling):
            continue
        new_index[index] = len(kept)
        moved = tuple(replace(a, parent=new_index[a.parent]) for a in strand.attachments)
        seen = _seen_part(strand, free, strands[0], filling)
        kept.append(replace(seen, attachments=moved))
    return kept


def _rises_as_trunk(free: Free | None, trunk: Strand, filling: Filling) -> bool:
    """Whether contrast comes to each place along a strand with a front, as it does in the trunk."""
    if free is None:
        return False
    _, profile = free
    rows, columns = filling.frames.shape[1:]
    x, y = np.rint(trunk.points_xy[::END_STEP_PX]).astype(int).T
    along = filling.frames[:, y.clip(0, rows - 1), x.clip(0, columns - 1)]
    in_trunk = np.nanmedian([_rise(curve) for curve in along.T])
    windows = [
        profile[:, at : at + END_WINDOW_PX] for at in range(0, profile.shape[1], END_STEP_PX)
    ]
    heights = [np.array([_height(frame) for frame in window]) for window in windows]
    rises = np.array([_rise(curve) for curve in heights])
    known = rises[np.isfinite(rises)]
    return bool(known.size) and bool(np.percentile(known, 75) <= SLOWER * in_trunk + SLOWER_BY)


def _rise(curve: Array) -> float:
    """Frames in which a curve goes through the whole of its rise; NaN where it does not."""
    most = float(np.percentile(curve, 90))
    if most <= 0:
        return float("nan")
    first = [int(np.flatnonzero(curve >= part * most)[0]) for part in RISE_PARTS]
    return (first[1] - first[0] + 1) / (RISE_PARTS[1] - RISE_PARTS[0])


def _seen_part(strand: Strand, free: Free | None, trunk: Strand, filling: Filling) -> Strand:
    if strand.kind is VesselKind.TANGLE:
        return _lit(strand, filling)
    if len(strand.attachments) == 1 and free is not None:
        return _without_false_end(strand, free, trunk, filling)
    return strand


def _lit(tangle: Strand, filling: Filling) -> Strand:
    """A tangle without the ways between its strands that hold no contrast."""
    picture = cv2.blur(filling.frames[list(filling.full_frames)].mean(0), (3, 3))
    x, y = (tangle.points_xy[:, axis : axis + 1].astype(np.float32) for axis in (0, 1))
    opacity = cv2.remap(picture, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE).ravel()
    lit = opacity > LEAST_LIT * float(np.median(opacity))
    lit[:1] = True
    return replace(tangle, points_xy=tangle.points_xy[lit])


def _fills(strand: Strand, profile: Array, trunk: Strand, filling: Filling) -> bool:
    """Whether a strand looks and fills like a vein beyond the trunk's own wall."""
    height, above, side = _shape(profile[list(filling.full_frames)].mean(0))
    alone = strand.kind is not VesselKind.TANGLE
    if alone and (height <= 0 or above < LEAST_ABOVE or abs(side) > MOST_UNEVEN * height):
        return False
    heights = np.array([_height(frame) if alone else _opacity(frame) for frame in profile])
    full = heights[list(filling.full_frames)]
    half = max(1, len(full) // 2)
    early, late = float(full[:half].mean()), float(full[-half:].mean())
    before = _before_arrival(strand, trunk, filling)
    if before and _drifts(heights, before):
        return False
    shown_before = len(before) >= FEWEST_BEFORE and float(
        np.median(np.abs(heights[before]))
    ) > MOST_BEFORE * max(early, late)
    return late > LEAST_LASTING * early and not shown_before


def _without_false_end(strand: Strand, free: Free, trunk: Strand, filling: Filling) -> Strand:
    """A side vein without an edge of gas or bone that its free end runs on into."""
    before = _before_arrival(strand, trunk, filling)
    if not before:
        return strand
    course, profile = free
    usual = _height(profile[list(filling.full_frames)].mean(0))
    end = profile.shape[1]
    while end > 2 * END_WINDOW_PX:
        last = profile[:, end - END_WINDOW_PX : end]
        heights = np.array([_height(frame) for frame in last])
        full = float(heights[list(filling.full_frames)].mean())
        if full > LEAST_END_PART * usual and not _drifts(heights, before):
            break
        end -= END_STEP_PX
    if end == profile.shape[1]:
        return strand
    away = np.hypot(*(strand.points_xy - course[end - 1]).T)
    return replace(strand, points_xy=strand.points_xy[: int(np.argmin(away)) + 1])


def _drifts(heights: Array, before: list[int]) -> bool:
    """Whether a height grows evenly from the mask on, and not with the front.

    ``before`` are the frames after the mask's in which contrast has not come there.
    """
    order = np.arange(len(heights), dtype=np.float64)
    straight = float(np.corrcoef(order, heights)[0, 1])
    already = float(heights[max(before[-1] - 1, 0) : before[-1] + 1].mean())
    halfway = float(heights[before[: (len(before) + 1) // 2]].mean())
    return bool(
        straight > 0
        and straight**2 > DRIFT_EXPLAINED
        and already > DRIFT_BEFORE * float(heights.max())
        and (len(before) < LONG_BEFORE or halfway > DRIFT_HALFWAY * already)
    )


def _before_arrival(strand: Strand, trunk: Strand, filling: Filling) -> list[int]:
    """Frames after the mask's in which the trunk is still empty where the strand leaves it."""
    away = np.hypot(*(trunk.points_xy - strand.points_xy[0]).T)
    rows, columns = filling.frames.shape[1:]
    x, y = (int(v) for v in np.rint(trunk.points_xy[int(np.argmin(away))]))
    x, y = min(max(x, 1), columns - 2), min(max(y, 1), rows - 2)
    curve = filling.frames[:, y - 1 : y + 2, x - 1 : x + 2].mean((1, 2))
    arrival = int(np.argmax(curve > ARRIVED * curve.max()))
    return [frame for frame in range(arrival) if frame not in filling.mask_frames]


def _free_profiles(strand: Strand, trunk: Strand, filling: Filling, scale_px: Float) -> Free | None:
    """The points of a strand's free part, and the opacity across it, (frames, points, 5).

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
    return points, np.array([cv2.blur(f, (1, 9)) for f in blurred], dtype=np.float64)


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


def _opacity(profile: Array) -> float:
    """Among the strands of a tangle there is nothing beside one to compare with."""
    return float(np.median(profile[:, 2]))
