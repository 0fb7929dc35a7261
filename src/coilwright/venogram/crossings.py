"""Veins that cross the trunk and join nothing there, told from side veins.

A side vein fills from the trunk, so contrast is at its mouth when it is in the trunk beside it. A
vein that only crosses goes straight on at the other side and fills at a time of its own.
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.continuity import radius_at, turn_deg
from coilwright.venogram.false_strands import Filling
from coilwright.venogram.meeting import Mouth, Wall, mouth
from coilwright.venogram.tree import Strand, wall_of

Array = npt.NDArray[np.float64]
Float = npt.NDArray[np.float32]

# Two strands on either side are one vein within this bend; if both fill late, within the wider.
STRAIGHT_DEG, STRAIGHT_IF_LATE_DEG = 25.0, 45.0
# ... and if they meet the wall no farther from each other than so many distances from the axis.
MOST_APART = 4.0
# Frames by which contrast at the mouth lags behind the trunk's: on time up to the first, clearly
# late from the second, and so late from the third that one side alone proves a crossing.
ON_TIME, LATE, VERY_LATE = 0.9, 1.2, 2.2
MOUTH_PX, BESIDE_PX = 24, 10


@dataclass(frozen=True, slots=True, kw_only=True)
class _Opening:
    """A strand that opens into the trunk with its start: what is seen of it, and its lag."""

    number: int
    seen: Mouth
    lag_frames: float


def without_crossings(strands: list[Strand], filling: Filling, radius_px: Float) -> list[Strand]:
    """The strands with those that cross the trunk made one vein each that joins nothing."""
    if len(strands) < 2 or len(filling.frames) < 3:
        return strands
    wall = wall_of(strands[0].points_xy, radius_px)
    openings = [
        _opening(number, strand, filling, wall, radius_px)
        for number, strand in enumerate(strands)
        if strand.kind is VesselKind.SIDE_VEIN
        and [(a.parent, a.own_end) for a in strand.attachments] == [(0, OwnEnd.START)]
    ]
    merged = list(strands)
    gone: dict[int, int] = {}
    used: set[int] = set()
    for one, other in _across(openings, wall):
        if used & {one.number, other.number}:
            continue
        used |= {one.number, other.number}
        points = _straight_over(one.seen.points_xy[::-1], other.seen.points_xy)
        first, second = sorted((one.number, other.number))
        merged[first] = Strand(kind=VesselKind.SIDE_VEIN, points_xy=points)
        gone[second] = first
    for opening in openings:
        if opening.number not in used and opening.lag_frames > VERY_LATE:
            merged[opening.number] = replace(merged[opening.number], attachments=())
    return _renumbered(merged, gone)


def _opening(
    number: int, strand: Strand, filling: Filling, wall: Wall, radius_px: Float
) -> _Opening:
    seen = mouth(strand.points_xy, radius_at(radius_px, _inside(strand.points_xy, radius_px)), wall)
    _, nearest = wall.distance_to(strand.points_xy[:1])
    at = int(nearest[0])
    trunk = wall.axis_xy[max(at - BESIDE_PX, 0) : at + BESIDE_PX + 1]
    # Where another vein lies over one window, the other tells.
    windows = [seen.points_xy[:MOUTH_PX], seen.points_xy[MOUTH_PX : 2 * MOUTH_PX]]
    arrivals = [_arrival(filling, window) for window in windows if len(window) >= MOUTH_PX // 2]
    first = min(arrivals, default=float("nan"))
    return _Opening(number=number, seen=seen, lag_frames=first - _arrival(filling, trunk))


def _inside(points_xy: Array, picture: Float) -> Array:
    rows, columns = picture.shape
    return np.clip(points_xy, 0, (columns - 1, rows - 1))


def _arrival(filling: Filling, points_xy: Array) -> float:
    """The frame, between frames, in which contrast at some points comes to half of its most."""
    x, y = np.rint(_inside(points_xy, filling.frames[0])).astype(int).T
    curve = filling.frames[:, y, x].mean(1)
    half = 0.5 * float(np.percentile(curve, 90))
    over = np.flatnonzero(curve >= half)
    if half <= 0 or not over.size or over[0] == 0:
        return float("nan")
    low, high = float(curve[over[0] - 1]), float(curve[over[0]])
    return float(over[0]) - 1.0 + (half - low) / max(high - low, 1e-12)


def _across(openings: list[_Opening], wall: Wall) -> list[tuple[_Opening, _Opening]]:
    """Openings on either side of the trunk that are one vein, the straightest pair first."""
    found = []
    for index, one in enumerate(openings):
        for other in openings[index + 1 :]:
            lags = np.array([one.lag_frames, other.lag_frames])
            late = bool((lags > LATE).all())
            on_time = bool((np.abs(lags) <= ON_TIME).all())
            bend = _bend_deg(one.seen, other.seen, wall)
            most = STRAIGHT_IF_LATE_DEG if late else STRAIGHT_DEG
            if bend is not None and bend <= most and not on_time:
                found.append((bend, one, other))
    return [(one, other) for _, one, other in sorted(found, key=lambda pair: pair[0])]


def _bend_deg(one: Mouth, other: Mouth, wall: Wall) -> float | None:
    """How much a line bends where it crosses the trunk; None where the two are not one line."""
    a, b = one.points_xy[0], other.points_xy[0]
    if wall.side_of(a) * wall.side_of(b) >= 0:
        return None
    gap = float(np.hypot(*(b - a)))
    (away_a, away_b), _ = wall.distance_to(np.array([a, b]))
    if gap > MOST_APART * max(away_a, away_b):
        return None
    over = (b - a) / max(gap, 1e-9)
    return max(
        turn_deg(one.heading, over),
        turn_deg(-other.heading, over),
        turn_deg(one.heading, -other.heading),
    )


def _straight_over(before: Array, after: Array) -> Array:
    gap = float(np.hypot(*(after[0] - before[-1])))
    part = np.linspace(0.0, 1.0, max(2, round(gap)) + 1)[1:-1, None]
    return np.concatenate([before, before[-1] + part * (after[0] - before[-1]), after])


def _renumbered(strands: list[Strand], gone: dict[int, int]) -> list[Strand]:
    """The strands without those that went into another, what hung on them on that other."""
    left = [number for number in range(len(strands)) if number not in gone]
    place = {number: index for index, number in enumerate(left)}
    place |= {number: place[into] for number, into in gone.items()}
    return [
        replace(
            strands[number],
            attachments=tuple(
                replace(a, parent=place[a.parent]) for a in strands[number].attachments
            ),
        )
        for number in left
    ]
