"""Where a vein opens into another: carried straight on, since its own course drowns there.

Beside a wide vein the ridge of a narrow one bends into the corner between the two or is lost. What
can be seen of it farther out says where it was heading.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

Array = npt.NDArray[np.float64]

# Within this distance of the other vein's axis a course is not to be trusted.
WALL_RADII, OWN_RADII, WALL_PX = 1.25, 1.5, 5.0
# ... unless it runs along beside the other, such as a duplicate: then it is trusted farther in,
# from so many of those distances along it.
LONGEST_PART = 2.5
# What of it lies this close to its straight continuation is kept all the same.
ASIDE_PX, ASIDE_PART = 1.5, 0.12
HEADING_PX, LOCAL_PX = 24, 16
# So much beside the corner into which a ridge bends is bent with it.
BESIDE_CORNER_PX = 5
# A course hits the other vein when it comes this near its axis; how much it leans in, if not.
HIT_RADII, LEANS = 0.4, (0.0, 0.35, 0.7, 1.0)
# Of the bend that is seen, what goes on beyond, and how far it turns at most.
KEPT_BEND, MOST_BEND = 0.15, 0.9
FEWEST_POINTS = 10
# How far it is carried, as a part of the distance to the axis: at 20 degrees it is 2.9.
REACH_PART = 3.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A vein that another one opens into: its axis (N, 2) and the radius at each point (N,)."""

    axis_xy: Array
    radius_px: Array

    def distance_to(self, points_xy: Array) -> tuple[Array, npt.NDArray[np.intp]]:
        """Distance of points from the axis, and the nearest of its points."""
        distance, nearest = cKDTree(self.axis_xy).query(points_xy)
        return np.asarray(distance), np.asarray(nearest)

    def clear_of(self, points_xy: Array, own_radius_px: float) -> npt.NDArray[np.bool_]:
        """Whether each point of another vein lies where its own course can be trusted."""
        distance, nearest = self.distance_to(points_xy)
        reach = WALL_RADII * self.radius_px[nearest] + OWN_RADII * own_radius_px + WALL_PX
        return np.asarray(distance > reach)

    def side_of(self, point_xy: Array) -> float:
        """Which side of the axis a point lies on: positive to its left."""
        _, nearest = self.distance_to(point_xy[None])
        here = int(np.clip(nearest[0], 3, len(self.axis_xy) - 4)) if len(self.axis_xy) > 7 else 0
        along = self.axis_xy[min(here + 3, len(self.axis_xy) - 1)] - self.axis_xy[max(here - 3, 0)]
        away = point_xy - self.axis_xy[int(nearest[0])]
        return float(along[0] * away[1] - along[1] * away[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouth:
    """The seen part of a vein, and how it heads for the other from ``points_xy[0]``.

    ``first`` is the index of the first point that was kept.
    """

    points_xy: Array
    angle_rad: float
    bend_per_px: float
    first: int

    @property
    def heading(self) -> Array:
        """The unit vector in which it goes on."""
        return np.array([np.cos(self.angle_rad), np.sin(self.angle_rad)])


def mouth(points_xy: Array, own_radius_px: float, wall: Wall) -> Mouth:
    """The part of a vein that can be seen; its first point is the one that meets the wall."""
    distance, nearest = wall.distance_to(points_xy)
    beyond = np.flatnonzero(wall.clear_of(points_xy, own_radius_px))
    arc = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points_xy, axis=0).T))])
    reach = WALL_RADII * wall.radius_px[nearest[0]] + OWN_RADII * own_radius_px + WALL_PX
    first = int(beyond[0]) if beyond.size else len(points_xy)
    first = min(first, int(np.searchsorted(arc, LONGEST_PART * reach)))
    first = min(first, max(len(points_xy) - FEWEST_POINTS, len(points_xy) // 2))
    last = min(first + HEADING_PX, len(points_xy) - 1)
    heading = points_xy[first] - points_xy[last]
    heading = heading / max(float(np.hypot(*heading)), 1e-9)
    inner = points_xy[:first] - points_xy[first]
    ahead = inner @ heading
    aside = np.abs(inner @ np.array([-heading[1], heading[0]]))
    clear = distance[:first] > wall.radius_px[nearest[:first]] + 0.5 * own_radius_px
    agrees = clear & (ahead > 0) & (aside <= ASIDE_PX + ASIDE_PART * ahead)
    off = np.flatnonzero(~agrees)
    kept = min(int(off[-1]) + 1 + BESIDE_CORNER_PX, first) if off.size else 0
    angle, bend = _heading(points_xy[kept:])
    return Mouth(points_xy=points_xy[kept:], angle_rad=angle, bend_per_px=bend, first=kept)


def _heading(points_xy: Array) -> tuple[float, float]:
    """The angle at which a course goes on from its first point, and its change per pixel."""
    step = min(LOCAL_PX, (len(points_xy) - 1) // 2)
    if step < 3:
        way = points_xy[0] - points_xy[-1]
        return float(np.arctan2(way[1], way[0])), 0.0
    near, far = points_xy[0] - points_xy[step], points_xy[step] - points_xy[2 * step]
    angle = float(np.arctan2(near[1], near[0]))
    turn = angle - float(np.arctan2(far[1], far[0]))
    bend = float(np.arctan2(np.sin(turn), np.cos(turn))) / step
    return angle + bend * step / 2.0, bend


def carried_on(seen: Mouth, wall: Wall) -> Array:
    """Points a pixel apart from the other vein's axis to the seen part, the one on it first.

    It goes on as it bends, towards the other vein; one that would still pass it leans in.
    """
    start = seen.points_xy[0]
    (away,), (near,) = wall.distance_to(start[None])
    inward = wall.axis_xy[near] - start
    towards = float(np.arctan2(inward[1], inward[0])) - seen.angle_rad
    towards = float(np.arctan2(np.sin(towards), np.cos(towards)))
    steps = np.arange(1.0, REACH_PART * float(away) + 2.0)
    bend = KEPT_BEND * seen.bend_per_px if seen.bend_per_px * towards > 0 else 0.0
    turned = np.sign(towards) * np.minimum(np.abs(bend) * steps, min(MOST_BEND, abs(towards)))
    for lean in LEANS:
        angle = seen.angle_rad + lean * towards + (1.0 - lean) * turned
        ray = start + np.cumsum(np.column_stack([np.cos(angle), np.sin(angle)]), axis=0)
        distance, nearest = wall.distance_to(ray)
        closest = int(np.argmin(distance))
        if distance[closest] <= max(1.0, HIT_RADII * float(wall.radius_px[nearest[closest]])):
            break
    return np.concatenate([wall.axis_xy[nearest[closest]][None], ray[:closest][::-1]])
