"""A completion run laid on the map made before, and what it shows of each zone."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from coilwright.errors import FileProblem, Problem
from coilwright.veins import (
    Affine,
    Conditions,
    NewVein,
    Notice,
    VeinMap,
    reflux_view,
    same_injection,
)
from coilwright.veins.comparison import Comparison
from coilwright.veins.zone_verdict import Setting
from coilwright.venogram.absorption import Absorption, absorption
from coilwright.venogram.bones import bones_of, find_place, kept_bones
from coilwright.venogram.completion_zones import (
    AskedZone,
    compared_zones,
    ostium_reached,
    stretches,
)
from coilwright.venogram.contrast_alone import contrast_alone
from coilwright.venogram.joined_runs import affine_of, px_ratio
from coilwright.venogram.new_veins import CompletionPicture, new_veins
from coilwright.venogram.run_file import RunFile
from coilwright.venogram.run_place import RunHeader, angles_known, other_view
from coilwright.venogram.subtraction import SubtractedRun, subtract
from coilwright.venogram.vessel_opacity import (
    Window,
    laid_on,
    moved_onto_contrast,
    strongest,
    windows_along,
)

PATIENT_UNCHECKED = Notice(
    code="patient-not-on-map",
    text="the map names no patient: check that both runs are of the same person",
)
SCALE_OF_MAP = Notice(
    code="scale-of-map",
    text="the headers do not say how large a pixel of both runs is: the map's scale was taken, the "
    "run laid on it by its bones",
)
SAME_RUN = Notice(
    code="same-run",
    text="the map was measured on this very run: it shows nothing of a closure",
)
ANOTHER_STUDY = Notice(
    code="another-study",
    text="the completion run belongs to another study than the map's: check that both are of the "
    "same person and side",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletionRun:
    """The completion run, its header, and how it was injected."""

    run: RunFile
    header: RunHeader
    conditions: Conditions


@dataclass(frozen=True, slots=True, kw_only=True)
class _Laid:
    """The completion run laid on the map; empty of windows, ``new`` null, where it cannot be."""

    affine: Affine | None = None
    windows: tuple[Window, ...] = ()
    new: tuple[NewVein, ...] | None = None
    notices: tuple[Notice, ...] = ()
    picture: npt.NDArray[np.float32] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedRun:
    """The comparison with the completion run's contrast (rows, columns), null where not laid."""

    comparison: Comparison
    opacification: npt.NDArray[np.float32] | None


def compare_with_map(
    vein_map: VeinMap, map_file: Path, completion: CompletionRun, zones: Sequence[AskedZone]
) -> ComparedRun:
    """What the completion run shows of the zones of a map, and of veins that it does not have.

    Raises
    ------
    FileProblem
        The map keeps no picture of the bones, or the run cannot be laid on it or is of the other
        side.
    """
    _require_same_side(vein_map, completion)
    before = vein_map.runs[0]
    conditions = completion.conditions
    if conditions.tilt_deg is None:
        conditions = replace(conditions, tilt_deg=completion.header.tilt_deg)
    absorbed = absorption(completion.run)
    not_comparable = _not_comparable(vein_map, completion, conditions, absorbed.densitometric)
    other = _other_view(vein_map, completion)
    laid = _Laid() if other else _laid(vein_map, map_file, completion, absorbed)
    setting = _setting(vein_map, laid, conditions, not_comparable)
    comparison = Comparison(
        before_sop_instance_uid=before.sop_instance_uid,
        completion_sop_instance_uid=completion.run.sop_instance_uid,
        to_map_px=laid.affine,
        conditions_before=before.conditions,
        conditions_completion=conditions,
        comparable=not_comparable is None,
        why=not_comparable or same_injection(before.conditions, conditions).why,
        ostium_reached=setting.ostium_reached,
        zones=compared_zones(vein_map, zones, laid.windows, setting, other, laid.new or ()),
        opacifies=stretches(laid.windows),
        new_veins=laid.new,
        warnings=(*_of_headers(vein_map, completion), *laid.notices),
    )
    return ComparedRun(comparison=comparison, opacification=laid.picture)


def _require_same_side(vein_map: VeinMap, completion: CompletionRun) -> None:
    side = completion.header.laterality
    if side and vein_map.side and side is not vein_map.side:
        problem = Problem(
            field="Laterality",
            found=f"{side.value}, but the map is of the {vein_map.side.value} side",
            mend="give the completion run of the map's own side",
        )
        raise FileProblem(completion.run.file, problem)


def _other_view(vein_map: VeinMap, completion: CompletionRun) -> str | None:
    place = vein_map.runs[0].place
    return None if place is None else other_view(place, completion.header.place)


def _of_headers(vein_map: VeinMap, completion: CompletionRun) -> tuple[Notice, ...]:
    """What both headers leave open, or contradict."""
    before = vein_map.runs[0]
    study, other = before.study_instance_uid, completion.header.study_instance_uid
    notices = []
    if study is None or other is None:
        notices.append(PATIENT_UNCHECKED)
    elif study != other:
        notices.append(ANOTHER_STUDY)
    if before.place is None or px_ratio(before.place, completion.header.place) is None:
        notices.append(SCALE_OF_MAP)
    if completion.run.sop_instance_uid in {run.sop_instance_uid for run in vein_map.runs}:
        notices.append(SAME_RUN)
    if before.place is not None and not angles_known(before.place, completion.header.place):
        text = "the view's angle is not stated of both runs: check that it is the same"
        notices.append(Notice(code="angle-not-stated", text=text))
    return (*notices, *completion.header.notices)


def _laid(
    vein_map: VeinMap, map_file: Path, completion: CompletionRun, absorbed: Absorption
) -> _Laid:
    """The run laid on the map by bone, then moved onto its contrast."""
    subtracted = _contrast_of(absorbed.frames, completion.run)
    affine = _onto_map(vein_map, map_file, completion, subtracted)
    mm = vein_map.calibration.mm_per_pixel
    picture = strongest(subtracted.frames, subtracted.mask_frames)
    on_bone = laid_on(vein_map.vessels, affine, mm)
    affine = _breathed(affine, moved_onto_contrast(picture, on_bone, mm * affine[0][0]))
    laid = laid_on(vein_map.vessels, affine, mm)
    shown = CompletionPicture(
        picture=picture,
        subtracted=subtracted,
        affine=affine,
        laid=laid,
        densitometric=absorbed.densitometric,
        doubt=completion.run.doubt,
    )
    return _Laid(
        affine=affine,
        windows=tuple(windows_along(picture, subtracted.field, laid)),
        new=new_veins(vein_map, shown),
        notices=subtracted.notices,
        picture=picture,
    )


def _setting(
    vein_map: VeinMap, laid: _Laid, conditions: Conditions, not_comparable: str | None
) -> Setting:
    reflux = reflux_view(conditions)
    return Setting(
        not_comparable=not_comparable,
        no_reflux_view=None if reflux.can_show else reflux.why,
        ostium_on_map=vein_map.landmarks.ostium is not None,
        ostium_reached=ostium_reached(vein_map, laid.windows),
    )


def _contrast_of(frames: npt.NDArray[np.float32], run: RunFile) -> SubtractedRun:
    """Contrast of the completion run; one in which none arrives is looked at all the same.

    With everything shut, or with a weak injection, nothing may change from first frame to last.
    """
    found = contrast_alone(
        frames, None, already_subtracted=run.already_subtracted, named=run.named_mask
    )
    return subtract(frames, (0, 1)) if found.nothing_arrives else found


def _not_comparable(
    vein_map: VeinMap, completion: CompletionRun, conditions: Conditions, densitometric: bool
) -> str | None:
    """Why the opacity of both runs must not be set side by side, None where it may."""
    why = _other_view(vein_map, completion)
    if why is not None:
        return why
    agreement = same_injection(vein_map.runs[0].conditions, conditions)
    if agreement.agree is not True:
        return agreement.why
    return None if densitometric else "pixels of the completion run are processed for display"


def _onto_map(
    vein_map: VeinMap, map_file: Path, completion: CompletionRun, subtracted: SubtractedRun
) -> Affine:
    place = vein_map.runs[0].place
    fixed = kept_bones(place)
    if place is None or fixed is None:
        problem = Problem(
            field="runs.0.place",
            found="the map keeps no picture of the bones to find the place by",
            mend="measure the run before again, with a frame before contrast",
        )
        raise FileProblem(map_file, problem)
    if not np.any(subtracted.mask):
        problem = Problem(
            field="PixelData",
            found="contrast is there from the first frame, so no bone shows where it lies",
            mend="give a completion run with a frame before contrast",
        )
        raise FileProblem(completion.run.file, problem)
    places = [
        (found, ratio)
        for ratio in _ratios(vein_map, completion, subtracted)
        if (found := find_place(bones_of(subtracted.mask, subtracted.field, ratio), fixed))
    ]
    if not places:
        problem = Problem(
            field="PixelData",
            found=f"no bone in common with the map {map_file.name} stands out",
            mend="give a completion run of the same field as the run before",
        )
        raise FileProblem(completion.run.file, problem)
    found, ratio = max(places, key=lambda place: place[0].correlation)
    return affine_of(ratio, found.shift_xy)


def _ratios(
    vein_map: VeinMap, completion: CompletionRun, subtracted: SubtractedRun
) -> tuple[float, ...]:
    """A pixel of the completion run over one of the map's: by the headers, else to be tried.

    Without a geometry the same pixel is likely, or the same field in another matrix; bone decides.
    """
    before = vein_map.runs[0]
    known = None if before.place is None else px_ratio(before.place, completion.header.place)
    if known is not None:
        return (known,)
    by_matrix = before.columns / subtracted.mask.shape[1]
    return (1.0,) if by_matrix == 1.0 else (1.0, by_matrix)


def _breathed(affine: Affine, shift_xy: tuple[float, float]) -> Affine:
    """The transform when the map's vessels lie ``shift_xy`` further on in the run's picture."""
    ratio = affine[0][0]
    x, y = (affine[k][2] - ratio * shift_xy[k] for k in (0, 1))
    return ((ratio, 0.0, round(x, 3)), (0.0, ratio, round(y, 3)))
