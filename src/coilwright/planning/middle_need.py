"""Whether a level between the distal and the upper one is asked for, and by which veins."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from coilwright.planning.landing_zones import Junction, Stretch, mouths_on
from coilwright.protocol import Protocol
from coilwright.veins import VeinMap, Vessel, VesselKind

MIDDLE_RULE = (
    "Rule: where a side vein or duplicate joins between the levels and could refill the vein below "
    "the upper one, a middle level lies below its mouth; where a duplicate runs past the distal "
    "level, it lies above both its mouths."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MiddleNeed:
    """The veins that ask for a middle level, and the lowest place that it may end.

    ``bypasses`` are the upper mouths of duplicates that pass the distal level by; ``feeders`` the
    mouths between the upper level and ``lowest_mm`` that could refill the vein there.
    """

    bypasses: tuple[Junction, ...]
    feeders: tuple[Junction, ...]
    lowest_mm: float

    def served_by(self, stretch: Stretch) -> bool:
        """Whether a zone here bars what asks for it."""
        return bool(self.bypasses) or any(f.at_mm <= stretch.from_mm for f in self.feeders)

    def left_below(self, stretch: Stretch) -> tuple[Junction, ...]:
        """Feeders that join below a zone here and above the lowest place that it may end."""
        return tuple(f for f in self.feeders if f.at_mm > stretch.to_mm)

    def asked_for(self) -> str:
        """What asks for the level, in one or two sentences."""
        said = []
        if self.bypasses:
            said.append(
                f"{_names(self.bypasses)} runs past the distal level, which does not shut it: a "
                "level above both its mouths is asked for."
            )
        if self.feeders:
            said.append(
                f"{_names(self.feeders)} joins between the levels and could refill the vein below "
                "the upper one: a level below its mouth is asked for."
            )
        return " ".join(said)

    def why(self, stretch: Stretch) -> str:
        """What a zone here is for."""
        said = [f"Middle level, {stretch.from_mm:.0f} to {stretch.to_mm:.0f} mm along the vein:"]
        if self.bypasses:
            said.append(
                f"above both mouths of {_names(self.bypasses)}, which runs past the distal level."
            )
        barred = tuple(f for f in self.feeders if f.at_mm <= stretch.from_mm)
        if barred:
            said.append(
                f"Below the mouth of {_names(barred)}, which joins under the upper level and could "
                "refill the vein."
            )
        return " ".join(said)


def middle_need(
    vein_map: VeinMap, trunk: Vessel, distal: Stretch, upper: Stretch, protocol: Protocol
) -> MiddleNeed | None:
    """The veins that meet the distal level alone, or pass it by; null where there are none.

    References
    ----------
    REVIEW.md 4: a distal level and one or more upper levels. Duplicates count whatever their
    calibre, unless both mouths lie between the levels: such a one brings no blood of its own. A
    side vein counts from the local least on, or where its calibre is not known.
    """
    mouths = mouths_on(vein_map, trunk)
    bypasses = tuple(
        pair[0]
        for pair in _duplicates(mouths)
        if upper.to_mm <= pair[0].at_mm <= distal.to_mm <= pair[1].at_mm
        and pair[0].at_mm <= distal.from_mm
    )
    clearance_mm = protocol.limit("mouth-clearance").value
    lowest_mm = min((mouth.at_mm - clearance_mm for mouth in bypasses), default=distal.from_mm)
    closed = {
        pair[0].vessel
        for pair in _duplicates(mouths)
        if upper.to_mm <= pair[0].at_mm and pair[1].at_mm <= distal.from_mm
    }
    passed_by = closed | {mouth.vessel for mouth in bypasses}
    least_mm = protocol.limit("middle-level-vein-min").value
    feeders = tuple(
        mouth
        for mouth in mouths
        if upper.to_mm <= mouth.at_mm <= lowest_mm
        and mouth.vessel not in passed_by
        and _counts(vein_map.vessel(mouth.vessel), least_mm)
    )
    if not bypasses and not feeders:
        return None
    return MiddleNeed(bypasses=bypasses, feeders=feeders, lowest_mm=lowest_mm)


def past_every_level(
    mouths: Sequence[Junction], distal: Stretch, upper: Stretch
) -> tuple[Junction, ...]:
    """Upper mouths of duplicates that leave above the upper level and rejoin below the distal."""
    return tuple(
        pair[0]
        for pair in _duplicates(mouths)
        if pair[0].at_mm <= upper.from_mm and pair[1].at_mm >= distal.to_mm
    )


def _duplicates(mouths: Sequence[Junction]) -> list[tuple[Junction, Junction]]:
    """Highest and lowest mouth of every duplicate that meets the trunk twice."""
    found: dict[str, list[Junction]] = {}
    for mouth in mouths:
        if mouth.kind is VesselKind.DUPLICATE:
            found.setdefault(mouth.vessel, []).append(mouth)
    return [(own[0], own[-1]) for own in found.values() if len(own) > 1]


def _counts(vessel: Vessel, least_mm: float) -> bool:
    if vessel.kind is not VesselKind.SIDE_VEIN:
        return True
    known_mm = [diameter for diameter in vessel.diameter_mm if diameter is not None]
    return not known_mm or median(known_mm) >= least_mm


def _names(mouths: Sequence[Junction]) -> str:
    return ", ".join(f"{mouth.vessel} (at {mouth.at_mm:.0f} mm)" for mouth in mouths)
