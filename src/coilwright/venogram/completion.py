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
    Notice,
    OwnEnd,
    VeinMap,
    Vessel,
    reflux_view,
    same_injection,
)
from coilwright.veins.comparison import ComparedZone, Comparison, Stretch, ZoneState
from coilwright.veins.vessel_match import nearest_arc
from coilwright.veins.zone_verdict import (
    Residual,
    Setting,
    ZoneSeen,
    residual_band,
    verdict,
)
from coilwright.venogram.absorption import absorption
from coilwright.venogram.bones import bones_of, find_place, kept_bones
from coilwright.venogram.contrast_alone import contrast_alone
from coilwright.venogram.joined_runs import affine_of, px_ratio
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

# How far above a zone contrast must stand, and how far below it may show that it came through.
NEAR_ZONE_MM = 15.0
AT_OSTIUM_MM = 10.0
AT_MOUTH_MM = 5.0
NOT_IN_PICTURE = 0.3
# Bounds are rounded to hundredths of a millimetre.
TOUCHING_MM = 0.02
ANOTHER_WAY = "yet further on contrast is seen: it came another way"
MAP_ALONE = Notice(
    code="only-veins-of-the-map",
    text="only veins of the map are looked at: a vein that nobody saw before is not found here",
)
PATIENT_UNCHECKED = Notice(
    code="patient-not-on-map",
    text="the map names no patient: check that both runs are of the same person",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedZone:
    """A zone to look at, with its name for people."""

    name: str
    zone: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class CompletionRun:
    """The completion run, its header, and how it was injected."""

    run: RunFile
    header: RunHeader
    conditions: Conditions


def compare_with_map(
    vein_map: VeinMap, map_file: Path, completion: CompletionRun, zones: Sequence[AskedZone]
) -> Comparison:
    """What the completion run shows of the zones of a map.

    Raises
    ------
    FileProblem
        The map keeps no picture of the bones, or the run cannot be laid on it.
    """
    before = vein_map.runs[0]
    conditions = completion.conditions
    if conditions.tilt_deg is None:
        conditions = replace(conditions, tilt_deg=completion.header.tilt_deg)
    absorbed = absorption(completion.run)
    not_comparable = _not_comparable(vein_map, completion, conditions, absorbed.densitometric)
    notices = [PATIENT_UNCHECKED, MAP_ALONE]
    place = before.place
    other = None if place is None else other_view(place, completion.header.place)
    if place is not None and not angles_known(place, completion.header.place):
        text = "the view's angle is not stated of both runs: check that it is the same"
        notices.append(Notice(code="angle-not-stated", text=text))
    affine: Affine | None = None
    windows: list[Window] = []
    if other is None:
        subtracted = _contrast_of(absorbed.frames, completion.run)
        notices += subtracted.notices
        affine = _onto_map(vein_map, map_file, completion, subtracted)
        mm = vein_map.calibration.mm_per_pixel
        picture = strongest(subtracted.frames, subtracted.mask_frames)
        laid = laid_on(vein_map.vessels, affine, mm)
        affine = _breathed(affine, moved_onto_contrast(picture, laid, mm * affine[0][0]))
        laid = laid_on(vein_map.vessels, affine, mm)
        windows = windows_along(picture, subtracted.field, laid)
    reflux = reflux_view(conditions)
    ostium = _ostium_reached(vein_map, windows)
    setting = Setting(
        not_comparable=not_comparable,
        no_reflux_view=None if reflux.can_show else reflux.why,
        ostium_on_map=vein_map.landmarks.ostium is not None,
        ostium_reached=ostium,
    )
    agreement = same_injection(before.conditions, conditions)
    return Comparison(
        before_sop_instance_uid=before.sop_instance_uid,
        completion_sop_instance_uid=completion.run.sop_instance_uid,
        to_map_px=affine,
        conditions_before=before.conditions,
        conditions_completion=conditions,
        comparable=not_comparable is None,
        why=not_comparable or agreement.why,
        ostium_reached=ostium,
        zones=_zones(vein_map, zones, windows, setting, other),
        opacifies=_stretches(windows),
        warnings=tuple(notices),
    )


def _contrast_of(frames: npt.NDArray[np.float32], run: RunFile) -> SubtractedRun:
    """Contrast of the completion run; one in which none arrives is looked at all the same.

    With everything shut, or with a weak injection, nothing may change from first frame to last.
    """
    found = contrast_alone(frames, None, already_subtracted=run.already_subtracted)
    return subtract(frames, (0, 1)) if found.nothing_arrives else found


def _not_comparable(
    vein_map: VeinMap, completion: CompletionRun, conditions: Conditions, densitometric: bool
) -> str | None:
    """Why the opacity of both runs must not be set side by side, None where it may."""
    place = vein_map.runs[0].place
    if place is not None:
        why = other_view(place, completion.header.place)
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
    ratio = px_ratio(place, completion.header.place) or 1.0
    found = find_place(bones_of(subtracted.mask, subtracted.field, ratio), fixed)
    if found is None:
        problem = Problem(
            field="PixelData",
            found=f"no bone in common with the map {map_file.name} stands out",
            mend="give a completion run of the same field as the run before",
        )
        raise FileProblem(completion.run.file, problem)
    return affine_of(ratio, found.shift_xy)


def _breathed(affine: Affine, shift_xy: tuple[float, float]) -> Affine:
    """The transform when the map's vessels lie ``shift_xy`` further on in the run's picture."""
    ratio = affine[0][0]
    x, y = (affine[k][2] - ratio * shift_xy[k] for k in (0, 1))
    return ((ratio, 0.0, round(x, 3)), (0.0, ratio, round(y, 3)))


def _ostium_reached(vein_map: VeinMap, windows: Sequence[Window]) -> bool | None:
    """Whether contrast stood in the first centimetre of the trunk; None where it is not shown."""
    ostium, trunk = vein_map.landmarks.ostium, vein_map.trunk
    if ostium is None or trunk is None:
        return None
    at = nearest_arc(trunk, ostium.point_px, vein_map.calibration.mm_per_pixel)
    near = [
        w for w in windows if w.vessel == trunk.id and 0.0 <= w.to_mm - at.arc_mm <= AT_OSTIUM_MM
    ]
    known = [w for w in near if w.opacity is not None]
    return any(w.seen for w in known) if known else None


def _zones(
    vein_map: VeinMap,
    asked: Sequence[AskedZone],
    windows: Sequence[Window],
    setting: Setting,
    other_angle: str | None,
) -> tuple[ComparedZone, ...]:
    """Zones in their order; those above are judged first, since they may stop the contrast."""
    done: dict[str, ComparedZone] = {}
    trunk = vein_map.trunk
    trunk_id = None if trunk is None else trunk.id
    for zone in sorted(asked, key=lambda a: (a.zone.vessel != trunk_id, a.zone.from_mm)):
        if other_angle is not None:
            state, text = ZoneState.NOT_SHOWN, f"not shown: {other_angle}"
            residual = None
        else:
            seen = _seen(vein_map, zone, windows, list(done.values()))
            state, text = verdict(seen, setting)
            residual = seen.residual
        beyond = _beyond(vein_map, zone.zone, windows)
        if state is ZoneState.SHUT and beyond:
            text = f"{text}; {ANOTHER_WAY}"
        done[zone.name] = ComparedZone(
            name=zone.name,
            zone=zone.zone,
            state=state,
            text=text,
            residual=residual_band(residual, setting),
            beyond=beyond,
        )
    return tuple(done[zone.name] for zone in asked)


def _seen(
    vein_map: VeinMap, asked: AskedZone, windows: Sequence[Window], above: list[ComparedZone]
) -> ZoneSeen:
    zone = asked.zone
    own = [w for w in windows if w.vessel == zone.vessel]
    inside = [w for w in own if zone.from_mm < w.middle_mm < zone.to_mm] or _nearest(own, zone)
    shown = [w for w in inside if w.opacity is not None]
    in_picture = len(shown) > (1.0 - NOT_IN_PICTURE) * len(inside) if inside else False
    half_mm = (zone.from_mm + zone.to_mm) / 2.0
    after = [w for w in own if zone.to_mm <= w.middle_mm <= zone.to_mm + NEAR_ZONE_MM]
    low = [w for w in shown if w.middle_mm >= half_mm]
    over = _above(vein_map, zone, windows)
    high = [w for w in shown if w.middle_mm < half_mm]
    return ZoneSeen(
        in_picture=in_picture,
        came_through=any(w.seen for w in low) or any(w.seen for w in after),
        reached=any(w.seen for w in (*over, *high)),
        residual=_residual(vein_map, low or shown, over or high),
        stopped_above=_stopped_above(vein_map, zone, above),
    )


def _stopped_above(vein_map: VeinMap, zone: Stretch, above: Sequence[ComparedZone]) -> str | None:
    """The name of a shut zone that lies between the ostium and this one."""
    mouths = [(join.vessel, join.at_mm) for join in vein_map.vessel(zone.vessel).joins]
    for one in reversed(above):
        if one.state is not ZoneState.SHUT:
            continue
        same_vessel = one.zone.vessel == zone.vessel and one.zone.from_mm < zone.from_mm
        past_mouth = any(
            vessel == one.zone.vessel and at_mm >= one.zone.from_mm for vessel, at_mm in mouths
        )
        if same_vessel or past_mouth:
            return one.name
    return None


def _nearest(own: list[Window], zone: Stretch) -> list[Window]:
    middle_mm = (zone.from_mm + zone.to_mm) / 2.0
    return sorted(own, key=lambda w: abs(w.middle_mm - middle_mm))[:1]


def _above(vein_map: VeinMap, zone: Stretch, windows: Sequence[Window]) -> list[Window]:
    """Windows just above a zone: on its own vessel, or on the parent at its mouth."""
    own = [
        w
        for w in windows
        if w.vessel == zone.vessel and zone.from_mm - NEAR_ZONE_MM <= w.middle_mm <= zone.from_mm
    ]
    if own:
        return own
    vessel = vein_map.vessel(zone.vessel)
    start = [join for join in vessel.joins if join.own_end is OwnEnd.START]
    return [
        w
        for join in start
        for w in windows
        if w.vessel == join.vessel and abs(w.middle_mm - join.at_mm) <= AT_MOUTH_MM
    ]


def _residual(
    vein_map: VeinMap, inside: Sequence[Window], over: Sequence[Window]
) -> Residual | None:
    """Opacity in the zone over that above it, against the same ratio on the map before."""
    filled = [w for w in over if w.seen]
    known = [w for w in inside if w.opacity is not None]
    before_in = [v for w in known if (v := _before(vein_map, w)) is not None]
    before_over = [v for w in filled if (v := _before(vein_map, w)) is not None]
    if not (known and filled and before_in and before_over):
        return None
    left = float(np.mean([w.opacity for w in known if w.opacity is not None]))
    left_sd = float(np.sqrt(np.mean([w.sd**2 for w in known])))
    full = float(np.mean([w.opacity for w in filled if w.opacity is not None]))
    full_sd = float(np.sqrt(np.mean([w.sd**2 for w in filled])))
    ratio_before = float(np.mean(before_in)) / float(np.mean(before_over))
    if ratio_before <= 0:
        return None
    share = left / full / ratio_before
    sd = float(np.hypot(left_sd, left * full_sd / full)) / full / ratio_before
    return Residual(share=share, sd=sd)


def _before(vein_map: VeinMap, window: Window) -> float | None:
    """The map's own opacity in a window."""
    vessel: Vessel = vein_map.vessel(window.vessel)
    values = [
        o
        for arc, o in zip(vessel.arc_mm, vessel.opacity, strict=True)
        if o is not None and window.from_mm <= arc <= window.to_mm
    ]
    return float(np.mean(values)) if values else None


def _beyond(vein_map: VeinMap, zone: Stretch, windows: Sequence[Window]) -> tuple[Stretch, ...]:
    """What opacifies on the zone's vessel past it, and on whatever leaves that there."""
    downstream = {zone.vessel: zone.to_mm}
    for _ in vein_map.vessels:
        for vessel in vein_map.vessels:
            for join in vessel.joins:
                past = downstream.get(join.vessel)
                if past is not None and join.at_mm >= past and vessel.id != zone.vessel:
                    downstream.setdefault(vessel.id, 0.0)
    found = [w for w in windows if w.vessel in downstream and w.from_mm >= downstream[w.vessel]]
    return _stretches(found)


def _stretches(windows: Sequence[Window]) -> tuple[Stretch, ...]:
    """Neighbouring windows with contrast, as one stretch each."""
    found: list[Stretch] = []
    for window in windows:
        if not window.seen:
            continue
        last = found[-1] if found else None
        if last and last.vessel == window.vessel and abs(last.to_mm - window.from_mm) < TOUCHING_MM:
            found[-1] = replace(last, to_mm=round(window.to_mm, 2))
        else:
            found.append(
                Stretch(
                    vessel=window.vessel,
                    from_mm=round(window.from_mm, 2),
                    to_mm=round(window.to_mm, 2),
                )
            )
    return tuple(found)
