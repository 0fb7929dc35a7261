"""Where the levels lie: above the floor, below the ostium, clear of mouths, bends, narrowings."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.planning.curvature import bent_between, bent_mm
from coilwright.planning.ostium_limits import OstiumLimits
from coilwright.planning.trunk_course import Projection, project_onto
from coilwright.protocol import Protocol
from coilwright.veins import Landmark, VeinMap, Vessel, VesselKind

_STEP_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch along the trunk, with how far it was moved from where it was first wanted."""

    from_mm: float
    to_mm: float
    moved_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Junction:
    """A place where another vessel meets the trunk."""

    vessel: str
    kind: VesselKind
    at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """The hard floor carried onto the trunk, and the lowest place that the distal zone may use."""

    mark: Projection
    margin_mm: float
    lowest_mm: float


def mark_floor(vein_map: VeinMap, trunk: Vessel, mark: Landmark, protocol: Protocol) -> Floor:
    """The floor's arc and the margin above it: the site's offset, or the mark's own uncertainty.

    The mark stands on bone, the vein moves with breathing: both shifts count.

    References
    ----------
    REVIEW.md 6: the hard floor for coils is the upper edge of the superior pubic ramus.
    """
    projection = project_onto(trunk, mark.point_px, mm_per_pixel=vein_map.calibration.mm_per_pixel)
    doubt_mm = math.hypot(mark.sd_mm, vein_map.quality.motion_corrected_mm or 0.0)
    margin_mm = max(
        protocol.limit("distal-offset-above-floor").value,
        protocol.limit("floor-mark-cover").value * doubt_mm,
    )
    lowest_mm = min(projection.arc_mm - margin_mm, trunk.arc_mm[-1])
    return Floor(mark=projection, margin_mm=margin_mm, lowest_mm=lowest_mm)


def distal_stretch(
    trunk: Vessel, floor: Floor, mouths: Sequence[Junction], protocol: Protocol
) -> Stretch | None:
    """The distal zone; null where the vein that was seen is too short above the floor.

    It slides up from the floor's margin, never down, and prefers in this order: no mouth spanned,
    none within the clearance, none left open below it, no bend, no narrowed vein, the shortest
    slide.
    """
    length_mm = protocol.limit("landing-zone-length").value
    room_mm = floor.lowest_mm - length_mm - trunk.arc_mm[0]
    slide_mm = min(protocol.limit("distal-slide-max").value, room_mm)
    starts_mm = [floor.lowest_mm - length_mm - moved for moved in _slides(slide_mm)]
    stretches = [
        Stretch(from_mm=start, to_mm=start + length_mm, moved_mm=moved)
        for start, moved in zip(starts_mm, _slides(slide_mm), strict=True)
    ]
    clearance_mm = protocol.limit("mouth-clearance").value

    course = bent_mm(trunk, protocol.limit("landing-zone-turn-max").value)

    def cost(stretch: Stretch) -> tuple[int, int, int, int, int, float]:
        below = sum(stretch.to_mm < mouth.at_mm < floor.mark.arc_mm for mouth in mouths)
        spanned, near = _blocking(stretch, mouths, clearance_mm)
        bent = bent_between(course, stretch.from_mm, stretch.to_mm)
        return spanned, near, below, bent, _narrowed_mm(stretch, trunk), stretch.moved_mm

    return min(stretches, key=cost, default=None)


def upper_stretch(
    trunk: Vessel,
    ostium_mm: float,
    lowest_mm: float,
    mouths: Sequence[Junction],
    limits: OstiumLimits,
    protocol: Protocol,
) -> Stretch | None:
    """The upper zone between the side's distances below the ostium; null where none fits.

    It ends above ``lowest_mm`` (the distal zone, or the vein's lower end). Where the vein was not
    seen that high, it starts where the vein was first seen.
    """
    length_mm = protocol.limit("landing-zone-length").value
    nearest_mm = max(ostium_mm + limits.nearest.value, trunk.arc_mm[0])
    farthest_mm = max(ostium_mm + limits.farthest.value, nearest_mm)
    slide_mm = min(farthest_mm, lowest_mm - length_mm) - nearest_mm
    stretches = [
        Stretch(from_mm=nearest_mm + moved, to_mm=nearest_mm + moved + length_mm, moved_mm=moved)
        for moved in _slides(slide_mm)
    ]
    clearance_mm = protocol.limit("mouth-clearance").value

    course = bent_mm(trunk, protocol.limit("landing-zone-turn-max").value)

    def cost(stretch: Stretch) -> tuple[int, int, int, int, float]:
        spanned, near = _blocking(stretch, mouths, clearance_mm)
        bent = bent_between(course, stretch.from_mm, stretch.to_mm)
        return spanned, near, bent, _narrowed_mm(stretch, trunk), stretch.moved_mm

    return min(stretches, key=cost, default=None)


def middle_stretch(
    trunk: Vessel,
    between_mm: tuple[float, float],
    feeders: Sequence[Junction],
    mouths: Sequence[Junction],
    protocol: Protocol,
) -> Stretch | None:
    """A zone between two places, as low as it can be; null where none fits.

    It slides up from the lower place, and prefers in this order: passed by no duplicate (one mouth
    above it, one below), no mouth spanned, none within the clearance, the fewest ``feeders`` left
    open below it, no bend, no narrowed vein.
    """
    length_mm = protocol.limit("landing-zone-length").value
    highest_mm, lowest_mm = between_mm
    clearance_mm = protocol.limit("mouth-clearance").value
    course = bent_mm(trunk, protocol.limit("landing-zone-turn-max").value)
    stretches = [
        Stretch(from_mm=lowest_mm - length_mm - moved, to_mm=lowest_mm - moved, moved_mm=moved)
        for moved in _slides(lowest_mm - length_mm - highest_mm)
    ]

    def cost(stretch: Stretch) -> tuple[int, int, int, int, int, int, float]:
        passed_by = len(passing_by(stretch, mouths))
        below = sum(stretch.to_mm < mouth.at_mm < lowest_mm for mouth in feeders)
        spanned, near = _blocking(stretch, mouths, clearance_mm)
        bent = bent_between(course, stretch.from_mm, stretch.to_mm)
        narrowed = _narrowed_mm(stretch, trunk)
        return passed_by, spanned, near, below, bent, narrowed, stretch.moved_mm

    return min(stretches, key=cost, default=None)


def mouths_on(vein_map: VeinMap, trunk: Vessel) -> tuple[Junction, ...]:
    """Every place where another vessel meets the trunk, from the cranial end."""
    found = [
        Junction(vessel=vessel.id, kind=vessel.kind, at_mm=join.at_mm)
        for vessel in vein_map.vessels
        if vessel.id != trunk.id
        for join in vessel.joins
        if join.vessel == trunk.id
    ]
    return tuple(sorted(found, key=lambda mouth: (mouth.at_mm, mouth.vessel)))


def passing_by(stretch: Stretch, mouths: Sequence[Junction]) -> set[str]:
    """The duplicates with a mouth on either side of a stretch: a nest there does not shut them."""
    duplicates = [mouth for mouth in mouths if mouth.kind is VesselKind.DUPLICATE]
    above = {mouth.vessel for mouth in duplicates if mouth.at_mm <= stretch.from_mm}
    below = {mouth.vessel for mouth in duplicates if mouth.at_mm >= stretch.to_mm}
    return above & below


def gap_mm(stretch: Stretch, at_mm: float) -> float:
    """Distance along the vein from a stretch to a place, 0 inside it."""
    return max(stretch.from_mm - at_mm, at_mm - stretch.to_mm, 0.0)


def _slides(longest_mm: float) -> list[float]:
    if longest_mm < 0:
        return []
    whole = [i * _STEP_MM for i in range(math.floor(longest_mm / _STEP_MM) + 1)]
    return whole if whole[-1] == longest_mm else [*whole, longest_mm]


def _blocking(stretch: Stretch, mouths: Sequence[Junction], clearance_mm: float) -> tuple[int, int]:
    """How many mouths a stretch spans, and how many lie within the clearance beside it."""
    gaps_mm = [gap_mm(stretch, mouth.at_mm) for mouth in mouths]
    return gaps_mm.count(0.0), sum(0.0 < gap < clearance_mm for gap in gaps_mm)


def _narrowed_mm(stretch: Stretch, trunk: Vessel) -> int:
    """Narrowed length inside a stretch, in whole millimetres so that no noise outweighs a slide."""
    overlaps = (
        max(0.0, min(n.to_mm, stretch.to_mm) - max(n.from_mm, stretch.from_mm))
        for n in trunk.narrowings
    )
    return math.ceil(sum(overlaps))
