"""The vein map put together: vessels with ids, joins, arcs, landmarks, quality."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.veins import (
    Calibration,
    Catheter,
    DiameterMethod,
    Front,
    Join,
    Landmark,
    Landmarks,
    MeasuredRun,
    Notice,
    Quality,
    Side,
    VeinMap,
    Vessel,
    VesselKind,
)
from coilwright.venogram.blur import Blur
from coilwright.venogram.catheter import CatheterCourse
from coilwright.venogram.centreline import Centreline
from coilwright.venogram.filling import fills_like_a_vein
from coilwright.venogram.front import arrival_s, opacity_over_time
from coilwright.venogram.front_speed import front_along
from coilwright.venogram.mouths import over_mouths
from coilwright.venogram.narrowing import find_narrowings, wholly_narrow
from coilwright.venogram.opacification import Opacification
from coilwright.venogram.run_file import RunFile
from coilwright.venogram.samples import (
    Samples,
    Surroundings,
    footprint,
    sample_centreline,
    tube_picture,
)
from coilwright.venogram.subtraction import SubtractedRun

Array = npt.NDArray[np.float64]

# What a side vein or a duplicate must show beyond the wall of the vessel it leaves.
SHORTEST_BEYOND_WALL_MM = 5.0
# Depth of the vein away from where the catheter gave the scale: it comes forward by 3 to 6 cm
# towards the ring, 4 to 8 % at 750 mm (practitioner's review, common practice, no source); half
# of the greater as one standard deviation at the far end.
DEPTH_RELATIVE_SD_NEAR = 0.01
DEPTH_RELATIVE_SD_FAR = 0.04
DEPTH_FAR_MM = 200.0
OSTIUM_SD_MM = 3.0
CATHETER_THROUGH_END_MM = 6.0
# Practitioner's review, third situation: a competent valve, and reflux round it by a collateral.
OSTIUM_NOT_SHOWN = Notice(
    code="ostium-not-shown",
    text=(
        "this run shows no ostium: contrast may reach the trunk by a collateral, past a valve that "
        "holds; before calling anything shut, inject the renal vein with Valsalva"
    ),
)
WHOLLY_NARROW = Notice(
    code="trunk-wholly-narrow",
    text=(
        "the whole trunk is narrow: in spasm, or not the refluxing vein; its relaxed calibre is "
        "unknown: wait, nitrate if safe, run again"
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Everything measured on one run, before it is put together. Trunk first in ``lines``."""

    run: RunFile
    subtracted: SubtractedRun
    shown: Opacification
    densitometric: bool
    lines: list[Centreline]
    leaves_frame: list[bool]
    blur: Blur
    catheter: CatheterCourse | None
    calibration: Calibration
    side: Side | None
    notices: tuple[Notice, ...]


def assemble(measured: Measured) -> VeinMap:
    """The vein map of one run."""
    kept = _kept(measured)
    ids = _ids(measured, kept)
    vessels = tuple(_vessel(measured, index, kept, ids) for index in kept)
    run, landmarks = measured.run, _landmarks(measured)
    return VeinMap(
        runs=(
            MeasuredRun(
                sop_instance_uid=run.sop_instance_uid,
                rows=run.frames.shape[1],
                columns=run.frames.shape[2],
                frames=len(run.frames),
                frame_times_s=run.frame_times_s,
                mask_frames=measured.subtracted.mask_frames,
                reference_frame=measured.subtracted.reference_frame,
                front=_front(measured, vessels[0]),
            ),
        ),
        reference_frame=measured.subtracted.reference_frame,
        side=measured.side,
        calibration=measured.calibration,
        vessels=vessels,
        landmarks=landmarks,
        catheter=_catheter(measured, kept, ids),
        quality=Quality(
            contrast_to_noise=round(measured.shown.contrast_to_noise, 1),
            motion_corrected_mm=round(
                measured.subtracted.motion_px * measured.calibration.mm_per_pixel, 3
            ),
            warnings=(*measured.notices, *_of_trunk(vessels[0], landmarks)),
        ),
    )


def _of_trunk(trunk: Vessel, landmarks: Landmarks) -> tuple[Notice, ...]:
    """What must be known of the trunk before anything is read from it."""
    known = np.array([d for d in trunk.diameter_mm if d is not None])
    notices = (WHOLLY_NARROW,) if wholly_narrow(known) else ()
    return notices if landmarks.ostium is not None else (*notices, OSTIUM_NOT_SHOWN)


def _front(measured: Measured, trunk: Vessel) -> Front | None:
    """The front along the trunk, where the catheter's tip is known to be the place it ran from."""
    times = measured.run.frame_times_s
    if measured.catheter is None or times is None or len(times) < 3:
        return None
    x, y = measured.catheter.tip_xy
    return front_along(trunk, (float(x), float(y)), float(np.median(np.diff(times))))


def _kept(measured: Measured) -> list[int]:
    """The trunk, and whatever fills as it does and shows long enough beyond its parent's wall."""
    kept = [0]
    trunk_curves = _curves(measured, 0)
    mm = measured.calibration.mm_per_pixel
    for index, line in enumerate(measured.lines[1:], start=1):
        parents = {a.parent for a in line.strand.attachments}
        if not parents <= set(kept):
            continue
        if not fills_like_a_vein(_curves(measured, index), trunk_curves):
            continue
        free = np.ones(len(line.course.points_xy), dtype=np.bool_)
        for parent in parents:
            distance, nearest = _distance_to(measured.lines[parent], line)
            free &= distance > measured.lines[parent].radius_px[nearest] + 0.5 * line.radius_px
        if free.sum() * mm >= SHORTEST_BEYOND_WALL_MM:
            kept.append(index)
    return kept


def _curves(measured: Measured, index: int) -> Array:
    line = measured.lines[index]
    return opacity_over_time(measured.subtracted.frames, line.course, line.radius_px)


def _distance_to(parent: Centreline, line: Centreline) -> tuple[Array, npt.NDArray[np.intp]]:
    distance, nearest = cKDTree(parent.course.points_xy).query(line.course.points_xy)
    return distance, nearest


def _ids(measured: Measured, kept: list[int]) -> dict[int, str]:
    """Readable ids, counted within each kind from the ostium down."""
    ids, counts = {0: "trunk"}, {kind: 0 for kind in VesselKind}
    order = sorted(kept[1:], key=lambda i: float(measured.lines[i].strand.points_xy[0, 1]))
    for index in order:
        kind = measured.lines[index].strand.kind
        counts[kind] += 1
        ids[index] = f"{kind.value}-{counts[kind]}"
    return ids


def _vessel(measured: Measured, index: int, kept: list[int], ids: dict[int, str]) -> Vessel:
    line = measured.lines[index]
    mm = measured.calibration.mm_per_pixel
    samples = _samples(measured, index, kept)
    arc_mm = np.interp(samples.at, np.arange(len(line.course.arc_px)), line.course.arc_px) * mm
    diameter = samples.diameter_px * mm
    sd = np.hypot(samples.diameter_sd_px * mm, diameter * measured.calibration.relative_sd)
    kind = line.strand.kind
    return Vessel(
        id=ids[index],
        kind=kind,
        runs=(0,),
        joins=_joins(measured, line, ids),
        diameter_method=(
            DiameterMethod.PROFILE if measured.densitometric else DiameterMethod.EDGE_WIDTH
        ),
        points_px=tuple((float(x), float(y)) for x, y in np.round(samples.points_xy, 3)),
        arc_mm=tuple(np.round(arc_mm, 3).tolist()),
        diameter_mm=_nullable(diameter, 4),
        diameter_sd_mm=_nullable(sd, 4),
        depth_relative_sd=_nullable(_depth_sd(measured, samples, mm), 4),
        opacity=_nullable(samples.peak_opacity / _plateau(measured), 3),
        arrival_s=_nullable(_arrival(measured, line, samples), 3),
        narrowings=find_narrowings(arc_mm, diameter, sd) if kind is VesselKind.TRUNK else (),
        leaves_frame=measured.leaves_frame[index],
    )


def _samples(measured: Measured, index: int, kept: list[int]) -> Samples:
    line = measured.lines[index]
    shape = measured.shown.picture.shape
    others = [measured.lines[i] for i in kept if i != index]
    near = Surroundings(
        others=footprint(shape, others, 1.5 * measured.blur.sigma_px),
        catheter=_catheter_picture(measured, line),
    )
    samples = sample_centreline(
        measured.shown.picture,
        line,
        near,
        measured.blur,
        measured.calibration.mm_per_pixel,
        densitometric=measured.densitometric,
    )
    return over_mouths(samples, _mouths(samples, others, measured.blur.sigma_px))


def _catheter_picture(measured: Measured, line: Centreline) -> npt.NDArray[np.float32] | None:
    """The catheter's shape where it lies in this vessel: it displaces contrast there."""
    catheter = measured.catheter
    if catheter is None or line.strand.kind is not VesselKind.TRUNK:
        return None
    return tube_picture(
        measured.shown.picture.shape,
        catheter.course.points_xy,
        catheter.look_radius_px,
        measured.blur.sigma_px,
    )


def _mouths(samples: Samples, others: list[Centreline], sigma_px: float) -> npt.NDArray[np.bool_]:
    """Samples whose own profile another vessel's contrast reaches into."""
    touched = np.zeros(len(samples.at), dtype=np.bool_)
    own = _sane_radius(samples.radius_px)
    for other in others:
        distance, nearest = cKDTree(other.course.points_xy).query(samples.points_xy)
        theirs = _sane_radius(other.radius_px)[nearest]
        touched |= distance < own + theirs + sigma_px + 1.0
    return touched


def _sane_radius(radius_px: Array) -> Array:
    """Radii without the swellings where two vessels run into one."""
    return np.minimum(radius_px, 1.3 * float(np.median(radius_px)))


def _joins(measured: Measured, line: Centreline, ids: dict[int, str]) -> tuple[Join, ...]:
    mm = measured.calibration.mm_per_pixel
    joins = []
    for attachment in line.strand.attachments:
        parent = measured.lines[attachment.parent].course
        away = np.hypot(*(parent.points_xy - np.array(attachment.at_xy)).T)
        at_mm = float(parent.arc_px[int(np.argmin(away))]) * mm
        joins.append(
            Join(own_end=attachment.own_end, vessel=ids[attachment.parent], at_mm=round(at_mm, 2))
        )
    return tuple(joins)


def _depth_sd(measured: Measured, samples: Samples, mm: float) -> Array:
    """Relative uncertainty of scale by depth, growing with distance from the catheter."""
    catheter = measured.catheter
    if catheter is None:
        return np.full(len(samples.at), DEPTH_RELATIVE_SD_FAR)
    away, _ = cKDTree(catheter.course.points_xy).query(samples.points_xy)
    part: Array = np.minimum(away * mm / DEPTH_FAR_MM, 1.0)
    return DEPTH_RELATIVE_SD_NEAR + (DEPTH_RELATIVE_SD_FAR - DEPTH_RELATIVE_SD_NEAR) * part


def _plateau(measured: Measured) -> float:
    """The opacity that counts as one: the upper range of the whole picture's vessels."""
    return max(float(np.percentile(measured.shown.picture[::2, ::2], 99.8)), 1e-9)


def _arrival(measured: Measured, line: Centreline, samples: Samples) -> Array:
    times = measured.run.frame_times_s
    if times is None or len(times) < 3:
        return np.full(len(samples.at), np.nan)
    curves = opacity_over_time(measured.subtracted.frames, line.course, line.radius_px)
    every = np.rint(samples.at).astype(int)
    arrived = arrival_s(curves[:, every], times)
    # What is filled in the first frame filled at some time before it.
    arrived[curves[0, every] >= curves[:, every].max(0) / 2.0] = np.nan
    return arrived


def _nullable(values: Array, digits: int) -> tuple[float | None, ...]:
    return tuple(round(float(v), digits) if np.isfinite(v) else None for v in values)


def _landmarks(measured: Measured) -> Landmarks:
    """The ostium, where the catheter itself shows it; bone is marked by the operator."""
    trunk = measured.lines[0].course
    catheter = measured.catheter
    if catheter is None or (measured.leaves_frame[0] and trunk.points_xy[0, 1] < 3):
        return Landmarks()
    away = np.hypot(*(catheter.course.points_xy - trunk.points_xy[0]).T).min()
    if away * measured.calibration.mm_per_pixel > CATHETER_THROUGH_END_MM:
        return Landmarks()
    x, y = trunk.points_xy[0]
    ostium = Landmark(
        point_px=(round(float(x), 2), round(float(y), 2)),
        sd_mm=OSTIUM_SD_MM,
        how="cranial end of the opacified trunk, where the catheter enters it",
    )
    return Landmarks(ostium=ostium)


def _catheter(measured: Measured, kept: list[int], ids: dict[int, str]) -> Catheter:
    if measured.catheter is None:
        return Catheter()
    x, y = measured.catheter.tip_xy
    inside = []
    for index in kept:
        line = measured.lines[index]
        away = np.hypot(*(line.course.points_xy - np.array([x, y])).T)
        nearest = int(np.argmin(away))
        if away[nearest] <= line.radius_px[nearest] + 2.0:
            inside.append((float(away[nearest] / line.radius_px[nearest]), ids[index]))
    vessel = min(inside)[1] if inside else None
    return Catheter(tip_px=(round(x, 2), round(y, 2)), in_vessel=vessel)
