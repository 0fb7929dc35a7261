"""Several measured runs made one map: each laid on the first by table and by bone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

from coilwright.errors import FileProblem, Problem
from coilwright.veins import (
    Affine,
    Conditions,
    NothingShared,
    Notice,
    RunPlace,
    VeinMap,
    join_maps,
)
from coilwright.veins.vessel_match import carried, nearest_arc
from coilwright.venogram.bones import Bones, Found, bones_of, find_near, find_place, stored
from coilwright.venogram.catheter_path import lit_field
from coilwright.venogram.measure import MeasuredRunFile
from coilwright.venogram.run_place import (
    SPEAKS_OF_VALSALVA,
    TILT_DIRECTION,
    RunHeader,
    angles_known,
    other_view,
    require_same_patient,
)

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

# Table positions are good to this: breathing, parallax and the stand's own play (judgement).
TABLE_REACH_MM = 15.0
# After bone has given the place, breathing may still have moved the vein by this.
VEIN_REACH_MM = 5.0
HELD_BY_BONE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedRun:
    """A run's file, its header, and what was measured on it."""

    file: Path
    header: RunHeader
    measured: MeasuredRunFile


def with_place(
    measured: MeasuredRunFile, header: RunHeader, conditions: Conditions | None = None
) -> MeasuredRunFile:
    """The measured run with its study, place and bones kept in the map, and how it was injected.

    The header's tilt stands where nobody stated another.
    """
    run = measured.vein_map.runs[0]
    told = conditions or run.conditions
    notices = [n for n in header.notices if not _settled(n, told)]
    if told.tilt_deg is None:
        told = replace(told, tilt_deg=header.tilt_deg)
    bones = bones_of_run(measured)
    place = header.place if bones is None else stored(header.place, bones)
    study = header.study_instance_uid
    run = replace(run, conditions=told, study_instance_uid=study, place=place)
    runs = (run, *measured.vein_map.runs[1:])
    return replace(measured, vein_map=_warned(replace(measured.vein_map, runs=runs), *notices))


def _settled(notice: Notice, told: Conditions) -> bool:
    """Whether a person has stated what the header left open."""
    if notice is SPEAKS_OF_VALSALVA:
        return told.valsalva is not None
    return notice is TILT_DIRECTION and told.tilt_deg is not None


def bones_of_run(measured: MeasuredRunFile, px_ratio: float = 1.0) -> Bones | None:
    """What stood there before contrast; None where the run has no frame without it."""
    if not np.any(measured.mask):
        return None
    return bones_of(measured.mask, lit_field(measured.mask), px_ratio)


def require_one_patient(runs: Sequence[tuple[Path, RunHeader]]) -> None:
    """Refuse runs of different patients or sides.

    Raises
    ------
    FileProblem
        The first run that does not belong to the first one's patient and side.
    """
    for other in runs[1:]:
        require_same_patient(runs[0], other)


def join_runs(runs: Sequence[PlacedRun]) -> MeasuredRunFile:
    """One map of several runs of the same vein, in the grid of the first.

    A run at another angle is left out, and a warning of the map says so.

    Raises
    ------
    FileProblem
        Another patient or side, or a run that shares nothing with the map.
    """
    require_one_patient([(run.file, run.header) for run in runs])
    first, *others = runs
    vein_map, drawn = first.measured.vein_map, first.measured.opacification
    pictures = [(drawn, np.eye(2, 3))]
    for run in others:
        why = other_view(first.header.place, run.header.place)
        if why is not None:
            notice = Notice(code="run-not-joined", text=f"{run.file.name} not joined: {why}")
            vein_map = _warned(vein_map, notice)
            continue
        affine, notices = _onto_first(first, run)
        affine = _by_veins(vein_map, run.measured.vein_map, affine)
        try:
            vein_map = join_maps(vein_map, run.measured.vein_map, affine)
        except NothingShared as error:
            found = "no vessel of it is seen on the runs before"
            problem = Problem(field="runs", found=found, mend="give runs that overlap")
            raise FileProblem(run.file, problem) from error
        vein_map = _warned(vein_map, *notices, *_said_of(first, run))
        pictures.append((run.measured.opacification, np.array(affine)))
    return _in_one_picture(replace(first.measured, vein_map=vein_map), pictures)


def _warned(vein_map: VeinMap, *notices: Notice) -> VeinMap:
    quality = replace(vein_map.quality, warnings=(*vein_map.quality.warnings, *notices))
    return replace(vein_map, quality=quality)


def _said_of(first: PlacedRun, run: PlacedRun) -> tuple[Notice, ...]:
    """What could not be checked, and scales that contradict each other."""
    notices = []
    if not (first.header.patient_id and run.header.patient_id):
        text = f"{run.file.name} or {first.file.name} names no patient: check whose runs they are"
        notices.append(Notice(code="patient-not-stated", text=text))
    if not angles_known(first.header.place, run.header.place):
        text = f"{run.file.name}: the view's angle is not stated: check that it is the same"
        notices.append(Notice(code="angle-not-stated", text=text))
    ratio = px_ratio(first.header.place, run.header.place)
    one, two = first.measured.vein_map.calibration, run.measured.vein_map.calibration
    if ratio is not None:
        off = two.mm_per_pixel / (one.mm_per_pixel * ratio) - 1.0
        allowed = 2.0 * hypot(one.relative_sd, two.relative_sd)
        if abs(off) > allowed:
            text = (
                f"the scales of {first.file.name} and {run.file.name} differ by {abs(off):.1%}, "
                f"more than their uncertainty ({allowed:.1%})"
            )
            notices.append(Notice(code="scales-disagree", text=text))
    return tuple(notices)


def px_ratio(first: RunPlace, other: RunPlace) -> float | None:
    """A pixel of the other run over one of the first, by both headers' geometry."""
    one, two = first.isocentre_mm_per_pixel, other.isocentre_mm_per_pixel
    return two / one if one and two else None


def _onto_first(first: PlacedRun, run: PlacedRun) -> tuple[Affine, tuple[Notice, ...]]:
    """The transform into the first run's grid, and what has to be said of it."""
    ratio = px_ratio(first.header.place, run.header.place)
    if ratio is None:
        one, two = first.measured.vein_map.calibration, run.measured.vein_map.calibration
        ratio = two.mm_per_pixel / one.mm_per_pixel
    fixed, moving = bones_of_run(first.measured), bones_of_run(run.measured, ratio)
    table = by_table(first, run, ratio)
    found: Found | None = None
    notices: tuple[Notice, ...] = ()
    if fixed is not None and moving is not None:
        mm = first.measured.vein_map.calibration.mm_per_pixel
        if table is not None:
            found = find_near(moving, fixed, table, TABLE_REACH_MM / mm)
        if found is None:
            found = find_place(moving, fixed)
            if found is not None and table is not None:
                text = f"{run.file.name}: table position and bone disagree; bone was followed"
                notices = (Notice(code="table-and-bone-disagree", text=text),)
    if found is not None:
        return affine_of(ratio, found.shift_xy), notices
    if table is not None:
        text = f"{run.file.name}: placed by the table's position alone; bone did not confirm it"
        return affine_of(ratio, table), (Notice(code="placed-by-table-alone", text=text),)
    problem = Problem(
        field="runs",
        found=f"nothing says where it lies on {first.file.name}: no table position in both "
        "headers, and no bone in common stands out",
        mend="give runs that overlap by a quarter of the picture or more, with a frame before "
        "contrast, or measure each alone",
    )
    raise FileProblem(run.file, problem)


def affine_of(ratio: float, shift_xy: tuple[float, float]) -> Affine:
    """Points of the other run into the first's: corners of the pictures shifted, then scaled."""
    half = 0.5 * ratio - 0.5
    return (
        (ratio, 0.0, round(half + shift_xy[0], 3)),
        (0.0, ratio, round(half + shift_xy[1], 3)),
    )


def by_table(first: PlacedRun, run: PlacedRun, ratio: float) -> tuple[float, float] | None:
    """The shift of the other picture's corner, in the first's pixels, by the tables' positions.

    A table that moves towards the head, or to the patient's left, is positive (table macro of
    enhanced XA, patient supine, head in normal position; from memory): the picture then shows
    what lies further down, or further to the right.
    """
    one, two = first.header.place, run.header.place
    if not {first.header.lies, run.header.lies} <= {"HFS", None}:
        return None
    if (
        one.table_longitudinal_mm is None
        or two.table_longitudinal_mm is None
        or one.table_lateral_mm is None
        or two.table_lateral_mm is None
    ):
        return None
    mm = one.isocentre_mm_per_pixel or first.measured.vein_map.calibration.mm_per_pixel
    down_px = (two.table_longitudinal_mm - one.table_longitudinal_mm) / mm
    right_px = -(two.table_lateral_mm - one.table_lateral_mm) / mm
    rows, columns = first.measured.mask.shape
    other_rows, other_columns = run.measured.mask.shape
    return (
        (columns - ratio * other_columns) / 2.0 + right_px,
        (rows - ratio * other_rows) / 2.0 + down_px,
    )


def _by_veins(vein_map: VeinMap, other: VeinMap, affine: Affine) -> Affine:
    """The transform moved so that the veins of both runs lie on each other.

    A straight vein tells nothing along itself: there the place that bone gave holds.
    """
    mm = vein_map.calibration.mm_per_pixel
    ratio = affine[0][0]
    shift = np.array([affine[0][2], affine[1][2]])
    start = shift.copy()
    for _ in range(3):
        now: Affine = ((ratio, 0.0, float(shift[0])), (0.0, ratio, float(shift[1])))
        normals, offsets = _offsets_px(vein_map, other, now, mm)
        if len(normals) < 20:
            return affine
        held = HELD_BY_BONE * len(normals) * np.eye(2)
        step = np.linalg.solve(normals.T @ normals + held, normals.T @ offsets)
        shift = shift + step
    if hypot(*(shift - start)) * mm > VEIN_REACH_MM:
        return affine
    x, y = (round(float(value), 3) for value in shift)
    return ((ratio, 0.0, x), (0.0, ratio, y))


def _offsets_px(
    vein_map: VeinMap, other: VeinMap, affine: Affine, mm: float
) -> tuple[Array, Array]:
    """Unit vectors across the map's vessels (N, 2), and how far off along them (N,), in pixels."""
    normals, offsets = [], []
    for vessel in other.vessels:
        for x, y in carried(vessel, affine, mm, 0).points_px[::3]:
            places = [(nearest_arc(v, (x, y), mm), v) for v in vein_map.vessels]
            near, onto = min(places, key=lambda place: place[0].off_mm)
            if near.off_mm > VEIN_REACH_MM or not onto.arc_mm[0] < near.arc_mm < onto.arc_mm[-1]:
                continue
            at = [
                np.interp(near.arc_mm, onto.arc_mm, [p[k] for p in onto.points_px]) for k in (0, 1)
            ]
            index = int(np.clip(np.searchsorted(onto.arc_mm, near.arc_mm), 1, len(onto.arc_mm) - 1))
            low, high = (np.array(onto.points_px[i]) for i in (index - 1, index))
            along = (high - low) / max(float(np.hypot(*(high - low))), 1e-9)
            normal = np.array([-along[1], along[0]])
            normals.append(normal)
            offsets.append(float(normal @ (np.array(at) - (x, y))))
    return np.array(normals).reshape(-1, 2), np.array(offsets)


def _in_one_picture(
    measured: MeasuredRunFile, pictures: Sequence[tuple[Float, Array]]
) -> MeasuredRunFile:
    """The joined map with every run's contrast, where each lies, for showing.

    ``opacification`` and ``mask`` then begin at ``picture_starts_px`` of the map's grid.
    """
    if len(pictures) == 1:
        return measured
    corners = []
    for picture, affine in pictures:
        rows, columns = picture.shape
        ends = np.array(
            [[0, 0, 1], [columns - 1, 0, 1], [0, rows - 1, 1], [columns - 1, rows - 1, 1]]
        )
        corners.append(ends @ affine.T)
    low = np.floor(np.min([c.min(0) for c in corners], axis=0))
    high = np.ceil(np.max([c.max(0) for c in corners], axis=0))
    width, height = (int(v) for v in high - low + 1)
    canvas = np.zeros((height, width), np.float32)
    for picture, affine in pictures:
        moved = affine - np.column_stack([np.zeros((2, 2)), low])
        laid = cv2.warpAffine(picture, moved, (width, height), flags=cv2.INTER_LINEAR)
        canvas = np.maximum(canvas, laid)
    return replace(
        measured,
        opacification=canvas,
        mask=np.zeros_like(canvas),
        picture_starts_px=(float(low[0]), float(low[1])),
    )
