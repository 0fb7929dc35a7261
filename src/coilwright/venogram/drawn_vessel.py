"""What edits need of the pixels: the calibre along a path drawn by hand, narrowings found again."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from coilwright.veins import (
    Calibration,
    DiameterMethod,
    MapEdits,
    VeinMap,
    Vessel,
    VesselKind,
    with_edits_of_file,
)
from coilwright.venogram.centreline import Centreline
from coilwright.venogram.course import smooth_course
from coilwright.venogram.measure import MeasuredRunFile
from coilwright.venogram.narrowing import find_narrowings
from coilwright.venogram.ridges import find_ridges
from coilwright.venogram.samples import Surroundings, footprint, sample_centreline
from coilwright.venogram.tree import Strand

Array = npt.NDArray[np.float64]

# A hand follows a vein to a pixel or two; the calibre is fitted about the path as drawn.
HAND_SCATTER_PX = 0.0
# Depth is no better known along a drawn vein than at the far end of a found one (whole_map).
DEPTH_RELATIVE_SD = 0.04
LEAST_MEASURED_SHARE = 0.25
CHANGES_TRUNK = {"join", "split", "trunk"}


def edited(measured: MeasuredRunFile, file: Path, edits: MapEdits) -> MeasuredRunFile:
    """The measured run with a file's edits, drawn vessels measured where the picture allows it.

    Raises
    ------
    FileProblem
        An edit does not fit the map.
    """

    def measure(vessel: Vessel, calibration: Calibration) -> Vessel:
        return measured_path(measured, vessel, calibration)

    vein_map = with_edits_of_file(measured.vein_map, file, edits, measure)
    made = vein_map.edits[len(measured.vein_map.edits) :]
    if any(edit.what in CHANGES_TRUNK for edit in made):
        vein_map = _narrowings_again(vein_map)
    return replace(measured, vein_map=vein_map)


def measured_path(measured: MeasuredRunFile, vessel: Vessel, calibration: Calibration) -> Vessel:
    """The vessel with its calibre measured along its points; as it was where nothing fits there."""
    if measured.blur is None or not _inside(vessel, measured):
        return vessel
    line = _line(vessel, measured)
    others = [_line(v, measured) for v in measured.vein_map.vessels if len(v.points_px) > 4]
    near = Surroundings(
        others=footprint(measured.opacification.shape, others, 1.5 * measured.blur.sigma_px),
        catheter=None,
    )
    mm = calibration.mm_per_pixel
    samples = sample_centreline(
        measured.opacification,
        line,
        near,
        measured.blur,
        mm,
        densitometric=measured.densitometric,
    )
    known = np.isfinite(samples.diameter_px)
    if known.mean() < LEAST_MEASURED_SHARE:
        return vessel
    width = samples.diameter_px * mm
    fit_px = np.hypot(samples.diameter_sd_px, measured.doubt.width_sd_px)
    sd = np.hypot(fit_px * mm, width * calibration.relative_sd)
    arc = np.interp(samples.at, np.arange(len(line.course.arc_px)), line.course.arc_px) * mm
    plateau = max(float(np.percentile(measured.opacification, 99.8)), 1e-9)
    count = len(width)
    return replace(
        vessel,
        runs=(0,),
        diameter_method=(
            DiameterMethod.PROFILE if measured.densitometric else DiameterMethod.EDGE_WIDTH
        ),
        points_px=tuple((float(x), float(y)) for x, y in np.round(samples.points_xy, 3)),
        arc_mm=tuple(np.round(arc, 3).tolist()),
        diameter_mm=_nullable(width, 4),
        diameter_sd_mm=_nullable(sd, 4),
        depth_relative_sd=(DEPTH_RELATIVE_SD,) * count,
        opacity=_nullable(samples.peak_opacity / plateau, 3),
        arrival_s=(None,) * count,
    )


def _inside(vessel: Vessel, measured: MeasuredRunFile) -> bool:
    rows, columns = measured.opacification.shape
    return all(0 <= x <= columns - 1 and 0 <= y <= rows - 1 for x, y in vessel.points_px)


def _line(vessel: Vessel, measured: MeasuredRunFile) -> Centreline:
    """The vessel's points as a centreline; a width that nobody knows is seeded by the picture."""
    points = np.asarray(vessel.points_px, dtype=np.float64)
    course = smooth_course(points, HAND_SCATTER_PX)
    mm = measured.vein_map.calibration.mm_per_pixel
    known = [width for width in vessel.diameter_mm if width is not None]
    if known:
        widths = np.array([np.nan if w is None else w for w in vessel.diameter_mm])
        at = np.flatnonzero(np.isfinite(widths))
        radius = np.interp(np.arange(len(widths)), at, widths[at]) / 2.0 / mm
        share = np.linspace(0.0, 1.0, len(course.arc_px))
        radius_px = np.interp(share, np.linspace(0.0, 1.0, len(radius)), radius)
    else:
        radius_px = _seeded(measured, course.points_xy)
    strand = Strand(kind=VesselKind.SIDE_VEIN, points_xy=points)
    return Centreline(strand=strand, course=course, radius_px=radius_px)


def _seeded(measured: MeasuredRunFile, points_xy: Array) -> Array:
    """The scale at which the picture looks most like a ridge there, as a first radius."""
    scale = find_ridges(measured.opacification).scale_px
    columns, rows = np.rint(points_xy).astype(int).T
    inside = scale[rows.clip(0, scale.shape[0] - 1), columns.clip(0, scale.shape[1] - 1)]
    typical = 1.25 * float(np.median(inside))
    return np.full(len(points_xy), max(typical, 1.0))


def _narrowings_again(vein_map: VeinMap) -> VeinMap:
    """Narrowings of a trunk that a person put together, against its own taper; known ones stay."""
    trunk = vein_map.trunk
    if trunk is None:
        return vein_map
    arrays = [
        np.array([np.nan if v is None else v for v in values], dtype=np.float64)
        for values in (trunk.arc_mm, trunk.diameter_mm, trunk.diameter_sd_mm)
    ]
    found = [
        n
        for n in find_narrowings(*arrays)
        if not any(k.from_mm < n.to_mm and n.from_mm < k.to_mm for k in trunk.narrowings)
    ]
    narrowings = tuple(sorted([*trunk.narrowings, *found], key=lambda n: n.from_mm))
    vessels = tuple(
        replace(v, narrowings=narrowings) if v.id == trunk.id else v for v in vein_map.vessels
    )
    return replace(vein_map, vessels=vessels)


def _nullable(values: Array, digits: int) -> tuple[float | None, ...]:
    return tuple(round(float(v), digits) if np.isfinite(v) else None for v in values)
