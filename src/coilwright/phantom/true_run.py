"""The truth of a scene, worked out from its geometry alone."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from coilwright.phantom.contrast import arrivals_s
from coilwright.phantom.course import Course
from coilwright.phantom.geometry import Floats
from coilwright.phantom.motion import Pose
from coilwright.phantom.scene import Scene
from coilwright.phantom.truth import (
    Affine,
    PointPx,
    TrueCatheter,
    TrueLandmarks,
    TrueNarrowing,
    TrueScale,
    TrueVessel,
    Truth,
)
from coilwright.phantom.vein import Vein, VeinKind

_PX_DIGITS, _MM_DIGITS = 3, 4


def true_run(scene: Scene) -> Truth:
    """The truth of a scene."""
    courses = scene.courses()
    arrival = arrivals_s(scene.veins, courses, scene.injection, scene.catheter.tip_mm)
    seen = [vein for vein in scene.veins if vein.kind is not VeinKind.RENAL_STUB]
    vessels = (_vessel(scene, vein, courses, arrival[vein.id]) for vein in seen)
    first_s = scene.injection.first_trace_s
    return Truth(
        name=scene.name,
        frame_times_s=scene.frame_times_s,
        vessels=tuple(vessel for vessel in vessels if vessel.points_px),
        catheter=_catheter(scene, courses),
        scale=_scale(scene, courses[scene.trunk.id]),
        landmarks=_landmarks(scene, courses[scene.trunk.id]),
        to_frame_px=_to_frames_px(scene, courses[scene.trunk.id]),
        first_contrast_frame=int(np.searchsorted(scene.frame_times_s, first_s, side="right")),
        settings=_plain(scene),
    )


def _vessel(
    scene: Scene, vein: Vein, courses: Mapping[str, Course], arrival_s: Floats
) -> TrueVessel:
    course = courses[vein.id]
    points_px = scene.cone.project_px(course.points_mm)
    scale = scene.cone.mm_per_pixel(course.points_mm)
    steps_mm = np.linalg.norm(np.diff(points_px, axis=0), axis=1) * (scale[1:] + scale[:-1]) / 2
    projected_mm = np.concatenate([[0.0], np.cumsum(steps_mm)])
    strength = vein.strength_along(course.arc_mm / course.length_mm)
    depth = scene.injection.vein_per_mm * strength * 2.0 * course.radius_mm
    kept = _in_open_field(scene, points_px)
    overlapped = _overlapped(scene, vein, courses)
    return TrueVessel(
        id=vein.id,
        kind=vein.kind,
        joins=vein.joins,
        leaves_frame=not bool(kept.all()),
        points_px=_points(points_px[kept]),
        arc_mm=_numbers(course.arc_mm[kept]),
        projected_arc_mm=_numbers(projected_mm[kept]),
        diameter_mm=_numbers(2.0 * course.radius_mm[kept]),
        mm_per_pixel=tuple(float(value) for value in scale[kept].round(6)),
        arrival_s=_numbers(arrival_s[kept]),
        plateau_depth=_numbers(depth[kept]),
        overlapped=tuple(bool(value) for value in overlapped[kept]),
        narrowing=_narrowing(vein, course),
    )


def _narrowing(vein: Vein, course: Course) -> TrueNarrowing | None:
    if vein.spasm is None:
        return None
    centre_mm, half_mm = vein.spasm.centre_mm, vein.spasm.half_length_mm
    return TrueNarrowing(
        from_mm=max(0.0, centre_mm - half_mm),
        to_mm=min(course.length_mm, centre_mm + half_mm),
        narrowest_mm=centre_mm,
        diameter_mm=2.0 * course.radius_at(centre_mm),
        relaxed_diameter_mm=vein.relaxed_diameter_at(centre_mm),
    )


def open_field_px(scene: Scene) -> tuple[float, float, float, float]:
    """Edges of the open field: left, top, right, bottom."""
    left, top, right, bottom = scene.anatomy.blades_px
    return (left, top, scene.cone.columns - 1.0 - right, scene.cone.rows - 1.0 - bottom)


def _in_open_field(scene: Scene, points_px: Floats) -> NDArray[np.bool_]:
    left, top, right, bottom = open_field_px(scene)
    x, y = points_px.T
    return np.asarray((x >= left) & (x <= right) & (y >= top) & (y <= bottom))


def _overlapped(scene: Scene, vein: Vein, courses: Mapping[str, Course]) -> NDArray[np.bool_]:
    """Samples whose width in the picture meets another vessel's."""
    own_px, own_reach_px = _outline_px(scene, courses[vein.id])
    touched = np.zeros(len(own_px), dtype=bool)
    for other in scene.veins:
        if other.id == vein.id:
            continue
        other_px, other_reach_px = _outline_px(scene, courses[other.id])
        distance_px, nearest = cKDTree(other_px).query(own_px)
        touched |= distance_px < own_reach_px + other_reach_px[nearest]
    return touched


def _outline_px(scene: Scene, course: Course) -> tuple[Floats, Floats]:
    scale = scene.cone.mm_per_pixel(course.points_mm)
    return scene.cone.project_px(course.points_mm), course.radius_mm / scale


def _catheter(scene: Scene, courses: Mapping[str, Course]) -> TrueCatheter:
    course = scene.catheter_course(courses[scene.trunk.id])
    tip_mm = course.points_mm[-1] + course.tangents[-1] * course.radius_mm[-1]
    points_px = scene.cone.project_px(np.vstack([course.points_mm, tip_mm]))
    return TrueCatheter(
        size_fr=scene.catheter.size_fr,
        outer_mm=scene.catheter.outer_mm,
        lumen_mm=scene.catheter.lumen_mm,
        points_px=_points(points_px[_in_open_field(scene, points_px)]),
        tip_px=_point(points_px[-1]),
        in_vessel=scene.trunk.id,
        tip_at_mm=scene.catheter.tip_mm,
    )


def _scale(scene: Scene, trunk: Course) -> TrueScale:
    scale = scene.cone.mm_per_pixel(trunk.points_mm)
    with_catheter = trunk.arc_mm <= max(scene.catheter.tip_mm, trunk.arc_mm[1])
    visible = _in_open_field(scene, scene.cone.project_px(trunk.points_mm))
    return TrueScale(
        at_catheter=float(scale[with_catheter].mean()),
        over_trunk=float(scale[visible].mean()),
        at_isocentre=scene.cone.isocentre_mm_per_pixel,
    )


def _landmarks(scene: Scene, trunk: Course) -> TrueLandmarks:
    trunk_px = scene.cone.project_px(trunk.points_mm)
    ring = None
    if scene.ring_mm is not None:
        ring = scene.cone.project_px(trunk.point_at(scene.ring_mm)[None, :])[0]
    return TrueLandmarks(
        ostium=_if_seen(scene, trunk_px[0]),
        internal_ring=_if_seen(scene, ring),
        superior_ramus_edge=_if_seen(scene, _ramus_crossing_px(scene, trunk_px)),
    )


def _ramus_crossing_px(scene: Scene, trunk_px: Floats) -> Floats | None:
    """Where the trunk passes over the ramus edge."""
    if scene.anatomy.bone_gain == 0:
        return None
    edge_px = scene.anatomy.ramus_edge_px(scene.cone)
    edge_px = edge_px[np.argsort(edge_px[:, 0])]
    covered = (trunk_px[:, 0] >= edge_px[0, 0]) & (trunk_px[:, 0] <= edge_px[-1, 0])
    below_px = trunk_px[:, 1] - np.interp(trunk_px[:, 0], edge_px[:, 0], edge_px[:, 1])
    crossing = np.flatnonzero(covered[1:] & (below_px[:-1] < 0) & (below_px[1:] >= 0))
    return trunk_px[crossing[0] + 1] if len(crossing) else None


def _if_seen(scene: Scene, point_px: Floats | None) -> PointPx | None:
    if point_px is None or not _in_open_field(scene, point_px[None, :])[0]:
        return None
    return _point(point_px)


def _to_frames_px(scene: Scene, trunk: Course) -> tuple[Affine, ...]:
    scale = float(scene.cone.mm_per_pixel(trunk.points_mm).mean())
    poses = (scene.motion.pose(time_s) for time_s in scene.frame_times_s)
    return tuple(_affine(pose, scene.cone.centre_px, scale) for pose in poses)


def _affine(pose: Pose, centre_px: Floats, mm_per_pixel: float) -> Affine:
    turn = pose.turn
    away = centre_px + np.asarray(pose.shift_mm) / mm_per_pixel - turn @ centre_px
    first, second = np.column_stack([turn, away]).round(6).tolist()
    return (first[0], first[1], first[2]), (second[0], second[1], second[2])


def _plain(scene: Scene) -> dict[str, Any]:
    """The scene's settings without the veins' knots."""
    settings = asdict(scene)
    settings["veins"] = [vein.id for vein in scene.veins]
    plain: dict[str, Any] = json.loads(json.dumps(settings))
    return plain


def _points(points_px: Floats) -> tuple[PointPx, ...]:
    return tuple(_point(point) for point in points_px)


def _point(point_px: Floats) -> PointPx:
    return round(float(point_px[0]), _PX_DIGITS), round(float(point_px[1]), _PX_DIGITS)


def _numbers(values: Floats) -> tuple[float, ...]:
    return tuple(float(value) for value in values.round(_MM_DIGITS))
