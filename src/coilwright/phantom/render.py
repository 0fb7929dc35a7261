"""A scene made into the frames of a run, with its truth."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from coilwright.phantom.geometry import Cone, Floats
from coilwright.phantom.motion import REST, Pose
from coilwright.phantom.scene import Scene
from coilwright.phantom.true_run import true_run
from coilwright.phantom.truth import Truth
from coilwright.phantom.tubes import TubeLayer, tube_layer

_NOISE_STREAM = 7
_TUBE_STREAM = 8
# The beam behind more than this optical depth is a collimator blade, not open field.
_OPEN_FIELD_DEPTH = 2.5


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rendered:
    """Stored frames (T, R, C), the scene they were made from, and what is true of it."""

    frames: NDArray[np.uint16]
    scene: Scene
    truth: Truth


def render(scene: Scene) -> Rendered:
    """The run of a scene; the same scene gives the same pixels."""
    random = np.random.default_rng([scene.seed, _NOISE_STREAM])
    frames = np.empty((scene.frames, scene.cone.rows, scene.cone.columns), dtype=np.uint16)
    median_quanta = scene.detector.quanta_per_pixel
    for index, expected in enumerate(expected_quanta(scene)):
        counted = scene.detector.counted(expected, random)
        frames[index] = scene.storage.stored(counted, median_quanta)
    return Rendered(frames=frames, scene=scene, truth=true_run(scene))


def expected_quanta(scene: Scene) -> Iterator[Floats]:
    """The mean count (R, C) of every frame, in order: no noise yet, all else done."""
    still = scene.anatomy.still_depth(scene.cone)
    moving = scene.anatomy.moving_depth(_with_rim(scene))
    courses = scene.courses()
    layer = tube_layer(scene, courses, REST)
    exposure = None
    tube = np.random.default_rng([scene.seed, _TUBE_STREAM])
    for time_s in scene.frame_times_s:
        pose = scene.motion.pose(time_s)
        if not scene.motion.still:
            layer = tube_layer(scene, courses, pose)
        background = still + _posed(scene, moving, pose) + _gas(scene, pose, time_s)
        for bystander in scene.bystanders:
            background = background + bystander.depth(scene.cone, pose, time_s)
        arriving = _arriving(scene, background, layer, time_s)
        if exposure is None:
            open_field = still < still.min() + _OPEN_FIELD_DEPTH
            exposure = scene.detector.quanta_per_pixel / float(np.median(arriving[open_field]))
        yield arriving * exposure * scene.detector.output(tube)


def _arriving(scene: Scene, background: Floats, layer: TubeLayer, time_s: float) -> Floats:
    """Primary after blur, plus scatter, for a beam of intensity one."""
    primary = np.exp(-background) * layer.transmission(scene, time_s)
    spacing_mm = scene.cone.imager_spacing_mm
    scatter = scene.detector.scattered(primary, spacing_mm)
    return scene.detector.blurred(primary, spacing_mm) + scatter


def _with_rim(scene: Scene) -> Cone:
    """The cone with a larger picture, so that what breathing carries in is there."""
    cone, pitch_mm = scene.cone, scene.cone.isocentre_mm_per_pixel
    half_mm = pitch_mm * float(np.hypot(cone.rows, cone.columns)) / 2
    rim_px = int(np.ceil(scene.motion.reach_mm(half_mm) / pitch_mm)) + 2
    return replace(cone, rows=cone.rows + 2 * rim_px, columns=cone.columns + 2 * rim_px)


def _posed(scene: Scene, depth: Floats, pose: Pose) -> Floats:
    """Soft tissue (R, C) in a pose, out of ``depth`` with its rim; carried along as a whole."""
    rows, columns = scene.cone.rows, scene.cone.columns
    rim_px = (depth.shape[0] - rows) // 2
    if pose == REST:
        return depth[rim_px : rim_px + rows, rim_px : rim_px + columns]
    centre, rim = scene.cone.centre_px, np.full(2, float(rim_px))
    shift_px = np.asarray(pose.shift_mm) / scene.cone.isocentre_mm_per_pixel
    away_px = centre + shift_px - pose.turn @ (centre + rim)
    carried = cv2.warpAffine(
        depth,
        np.column_stack([pose.turn, away_px]),
        (columns, rows),
        flags=cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REFLECT,
    )
    return np.asarray(carried, dtype=np.float64)


def _gas(scene: Scene, pose: Pose, time_s: float) -> Floats:
    shift_mm = np.asarray(pose.shift_mm)
    return scene.anatomy.gas_depth(scene.cone, shift_mm, scene.motion.gas_drift_mm, time_s)
