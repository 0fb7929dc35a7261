"""How far the catheter's tip is from a zone, and which way."""

import math

from coilwright.planning.landing_zones import Stretch
from coilwright.planning.plan import TipDistance, TipMove
from coilwright.planning.trunk_course import project_onto
from coilwright.veins import VeinMap, Vessel


def tip_from_zone(vein_map: VeinMap, trunk: Vessel, zone: Stretch) -> TipDistance | None:
    """The way along the vein from the tip to the zone; null unless the tip lies in the trunk.

    The standard deviation combines the scale over that distance with the breathing shift; where
    the shift is not known it is null, and the sentence says so.
    """
    tip_px = vein_map.catheter.tip_px
    if tip_px is None or vein_map.catheter.in_vessel != trunk.id:
        return None
    calibration = vein_map.calibration
    tip = project_onto(trunk, tip_px, mm_per_pixel=calibration.mm_per_pixel)
    below_mm, above_mm = tip.arc_mm - zone.to_mm, zone.from_mm - tip.arc_mm
    distance_mm = max(below_mm, above_mm, 0.0)
    breathing_mm = vein_map.quality.motion_corrected_mm
    scale_mm = distance_mm * calibration.relative_sd
    sd_mm = None if breathing_mm is None else math.hypot(scale_mm, breathing_mm)
    move = TipMove.PULL_BACK if below_mm > 0 else TipMove.ADVANCE
    if distance_mm == 0:
        move = TipMove.IN_ZONE
    return TipDistance(
        distance_mm=distance_mm, sd_mm=sd_mm, move=move, text=_words(move, distance_mm, sd_mm)
    )


def _words(move: TipMove, distance_mm: float, sd_mm: float | None) -> str:
    doubt = "breathing shift not known" if sd_mm is None else f"+- {sd_mm:.0f} mm"
    match move:
        case TipMove.IN_ZONE:
            return f"The tip lies in the zone ({doubt})."
        case TipMove.PULL_BACK:
            action = f"pull back {distance_mm:.0f} mm"
        case TipMove.ADVANCE:
            action = f"advance {distance_mm:.0f} mm with the wire ahead"
    return (
        f"The tip is {distance_mm:.0f} mm ({doubt}) from the zone as projected, so at least "
        f"that far along the vein: {action}."
    )
