"""What a completion run shows of each zone: windows of contrast, read from above down."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from coilwright.veins import NewVein, OwnEnd, VeinMap, Vessel
from coilwright.veins.comparison import ComparedZone, Stretch, ZoneState
from coilwright.veins.vessel_match import nearest_arc
from coilwright.veins.zone_verdict import (
    Residual,
    Setting,
    ZoneSeen,
    residual_band,
    verdict,
)
from coilwright.venogram.vessel_opacity import Window

# How far above a zone contrast must stand, and how far below it may show that it came through.
NEAR_ZONE_MM = 15.0
AT_OSTIUM_MM = 10.0
AT_MOUTH_MM = 5.0
NOT_IN_PICTURE = 0.3
# Bounds are rounded to hundredths of a millimetre.
TOUCHING_MM = 0.02
PASSES = "runs past it"
ANOTHER_WAY = "yet further on contrast is seen: it came another way"


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedZone:
    """A zone to look at, with its name for people."""

    name: str
    zone: Stretch


def ostium_reached(vein_map: VeinMap, windows: Sequence[Window]) -> bool | None:
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


def compared_zones(
    vein_map: VeinMap,
    asked: Sequence[AskedZone],
    windows: Sequence[Window],
    setting: Setting,
    other_angle: str | None,
    new: Sequence[NewVein],
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
        if state is not ZoneState.STILL_OPACIFIES and (past := _past(zone.zone, new)):
            text = f"{text}; {' and '.join(past)}, not on the map, {PASSES}"
        done[zone.name] = ComparedZone(
            name=zone.name,
            zone=zone.zone,
            state=state,
            text=text,
            residual=residual_band(residual, setting),
            beyond=beyond,
        )
    return tuple(done[zone.name] for zone in asked)


def _past(zone: Stretch, new: Sequence[NewVein]) -> list[str]:
    """Ids of veins that were not on the map and run beside a part of the zone."""
    return [
        vein.id
        for vein in new
        if vein.doubt is None
        and vein.beside.vessel == zone.vessel
        and vein.beside.from_mm < zone.to_mm
        and vein.beside.to_mm > zone.from_mm
    ]


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
    return stretches(found)


def stretches(windows: Sequence[Window]) -> tuple[Stretch, ...]:
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
