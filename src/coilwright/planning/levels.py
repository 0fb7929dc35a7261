"""The levels of a plan: zone, calibre, coils, and what has to be said about each."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from coilwright.advice import Advisory, Urgency
from coilwright.kit import DeliveryCheck, Kit
from coilwright.planning.coil_ranking import Place, rank_coils
from coilwright.planning.landing_zones import (
    Floor,
    Junction,
    Stretch,
    distal_stretch,
    gap_mm,
    mark_floor,
    mouths_on,
    upper_stretch,
)
from coilwright.planning.level_advice import advise_level
from coilwright.planning.level_calibre import calibre_of_zone
from coilwright.planning.plan import DeviceChoice, LandingZone, Level, LevelName, Mouth
from coilwright.planning.tip_distance import tip_from_zone
from coilwright.planning.trunk_course import Projection, point_at, project_onto
from coilwright.protocol import COMMON_PRACTICE, Basis, Protocol, advise
from coilwright.veins import VeinMap, Vessel

RAMUS_MISSING = "upper edge of the superior pubic ramus (landmarks.superior_ramus_edge)"
OSTIUM_MISSING = "ostium (landmarks.ostium)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Everything that both levels are worked out from."""

    vein_map: VeinMap
    trunk: Vessel
    kit: Kit
    deliveries: Mapping[str, DeliveryCheck]
    protocol: Protocol
    on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """A level, or null with the advisory that says why there is none."""

    level: Level | None
    stretch: Stretch | None
    advisories: tuple[Advisory, ...]
    assumptions: tuple[str, ...] = ()


def distal_level(bench: Bench) -> Worked:
    """The level above the hard floor; none without the floor's mark."""
    mark = bench.vein_map.landmarks.superior_ramus_edge
    if mark is None:
        return _none(
            "distal-floor-missing",
            "No distal level: mark the upper edge of the superior pubic ramus on the raw frame. "
            "It is the hard floor for coils and is not guessed.",
            (RAMUS_MISSING,),
        )
    floor = mark_floor(bench.vein_map, bench.trunk, mark, bench.protocol)
    doubtful = _doubtful_mark("upper edge of the superior pubic ramus", floor.mark, bench)
    mouths = mouths_on(bench.vein_map, bench.trunk)
    stretch = distal_stretch(bench.trunk, floor, mouths, bench.protocol)
    if stretch is None:
        return _none(
            "distal-no-room",
            "No distal level: too little of the vein above the hard floor was seen to hold a "
            "landing zone.",
            ("the vein above the upper edge of the superior pubic ramus, on a run",),
            bench.protocol.limit("landing-zone-length"),
            earlier=doubtful,
        )
    above_mm = floor.mark.arc_mm - stretch.to_mm
    landmark = (
        f"lower end {above_mm:.0f} mm above the upper edge of the superior pubic ramus, along "
        "the vein as projected"
    )
    below = tuple(m for m in mouths if stretch.to_mm < m.at_mm < floor.mark.arc_mm)
    worked = _worked(
        LevelName.DISTAL,
        bench,
        stretch,
        mouths=mouths,
        left_below=below,
        bony_landmark=landmark,
    )
    return _with(worked, (*doubtful, *_seen_short(bench, floor)))


def upper_level(bench: Bench, distal: Stretch | None) -> Worked:
    """The level below the ostium; none where the ostium is not known."""
    mark = bench.vein_map.landmarks.ostium
    if mark is None:
        return _none(
            "ostium-missing",
            "No upper level: the ostium is not on the map. Not shown: inject the renal vein with "
            "Valsalva, or mark the ostium on the raw frame.",
            (OSTIUM_MISSING,),
        )
    ostium = project_onto(
        bench.trunk, mark.point_px, mm_per_pixel=bench.vein_map.calibration.mm_per_pixel
    )
    doubtful = _doubtful_mark("ostium", ostium, bench)
    mouths = mouths_on(bench.vein_map, bench.trunk)
    stretch = upper_stretch(
        bench.trunk, ostium.arc_mm, _lowest_mm(bench, distal), mouths, bench.protocol
    )
    if stretch is None:
        return _none(
            "upper-no-room",
            "No upper level: between the ostium and what lies below, too little of the vein was "
            "seen to hold a landing zone of its own.",
            ("the vein below the ostium, on a run",),
            bench.protocol.limit("landing-zone-length"),
            bench.protocol.limit("upper-end-below-ostium-min"),
            earlier=doubtful,
        )
    worked = _worked(LevelName.UPPER, bench, stretch, mouths=mouths, ostium_mm=ostium.arc_mm)
    return _with(worked, (*doubtful, *_far_from_ostium(bench, stretch, ostium)))


def _lowest_mm(bench: Bench, distal: Stretch | None) -> float:
    """The upper zone ends above the distal one; without that, above the floor if it is known."""
    if distal is not None:
        return distal.from_mm
    mark = bench.vein_map.landmarks.superior_ramus_edge
    if mark is None:
        return bench.trunk.arc_mm[-1]
    return mark_floor(bench.vein_map, bench.trunk, mark, bench.protocol).lowest_mm


def _worked(
    name: LevelName,
    bench: Bench,
    stretch: Stretch,
    *,
    mouths: tuple[Junction, ...],
    left_below: tuple[Junction, ...] = (),
    bony_landmark: str | None = None,
    ostium_mm: float | None = None,
) -> Worked:
    calibre = calibre_of_zone(
        bench.trunk, stretch.from_mm, stretch.to_mm, bench.vein_map.calibration, bench.protocol
    )
    choices: tuple[DeviceChoice, ...] = ()
    if calibre.relaxed is not None:
        place = Place(zone=stretch, relaxed=calibre.relaxed, ostium_mm=ostium_mm)
        choices = rank_coils(bench.kit.coils, bench.deliveries, place, bench.protocol, bench.on)
    level = Level(
        name=name,
        order=1 if name is LevelName.DISTAL else 2,
        zone=_zone(bench.trunk, stretch, bony_landmark, ostium_mm),
        measured=calibre.measured,
        relaxed=calibre.relaxed,
        mouths=_near(stretch, mouths, bench.protocol),
        tip=tip_from_zone(bench.vein_map, bench.trunk, stretch),
        choices=choices,
        first_choice=next((choice.device for choice in choices if choice.advised), None),
    )
    return Worked(
        level=level,
        stretch=stretch,
        advisories=tuple(advise_level(level, calibre, left_below, bench.protocol)),
        assumptions=calibre.assumptions,
    )


def _zone(
    trunk: Vessel, stretch: Stretch, bony_landmark: str | None, ostium_mm: float | None
) -> LandingZone:
    described = bony_landmark or f"{stretch.from_mm:.0f} to {stretch.to_mm:.0f} mm along the vein"
    if ostium_mm is not None:
        described = (
            f"{stretch.from_mm - ostium_mm:.0f} to {stretch.to_mm - ostium_mm:.0f} mm below the "
            "ostium, along the vein as projected; no bony landmark was marked here"
        )
    return LandingZone(
        vessel=trunk.id,
        from_mm=stretch.from_mm,
        to_mm=stretch.to_mm,
        point_px=point_at(trunk, (stretch.from_mm + stretch.to_mm) / 2),
        bony_landmark=bony_landmark,
        described=described,
    )


def _near(stretch: Stretch, mouths: tuple[Junction, ...], protocol: Protocol) -> tuple[Mouth, ...]:
    within_mm = protocol.limit("mouth-reported-within").value
    return tuple(
        Mouth(vessel=mouth.vessel, kind=mouth.kind, at_mm=mouth.at_mm, gap_mm=gap)
        for mouth in mouths
        if (gap := gap_mm(stretch, mouth.at_mm)) <= within_mm
    )


def _doubtful_mark(what: str, mark: Projection, bench: Bench) -> tuple[Advisory, ...]:
    limit = bench.protocol.limit("mark-to-vein-max")
    if mark.off_mm <= limit.value:
        return ()
    text = f"The mark of the {what} lies {mark.off_mm:.0f} mm beside the vein: check the mark."
    return (
        advise(
            rule="mark-far-from-vein",
            urgency=Urgency.CAUTION,
            text=text,
            basis=(limit,),
            value=mark.off_mm,
            limit=limit.value,
            unit="mm",
        ),
    )


def _seen_short(bench: Bench, floor: Floor) -> tuple[Advisory, ...]:
    unseen_mm = floor.mark.arc_mm - floor.margin_mm - bench.trunk.arc_mm[-1]
    if unseen_mm <= 0:
        return ()
    text = (
        f"The vein was not seen over the last {unseen_mm:.0f} mm or more above the distal target: "
        "the distal level lies higher than the site's target, and what joins below is not known."
    )
    return (
        advise(
            rule="vein-not-seen-to-floor",
            urgency=Urgency.CAUTION,
            text=text,
            basis=(bench.protocol.limit("distal-offset-above-floor"),),
            missing=("the vein down to the upper edge of the superior pubic ramus, on a run",),
        ),
    )


def _far_from_ostium(bench: Bench, stretch: Stretch, ostium: Projection) -> tuple[Advisory, ...]:
    limit = bench.protocol.limit("upper-end-below-ostium-max")
    below_mm = stretch.from_mm - ostium.arc_mm
    if below_mm <= limit.value:
        return ()
    text = f"The upper level ends {below_mm:.0f} mm below the ostium: the vein was not seen higher."
    return (
        advise(
            rule="upper-level-low",
            urgency=Urgency.CAUTION,
            text=text,
            basis=(limit,),
            value=below_mm,
            limit=limit.value,
            unit="mm",
        ),
    )


def _none(
    rule: str,
    text: str,
    missing: tuple[str, ...],
    *basis: Basis,
    earlier: tuple[Advisory, ...] = (),
) -> Worked:
    advisory = advise(
        rule=rule,
        urgency=Urgency.STOP_AND_THINK,
        text=text,
        basis=basis or (COMMON_PRACTICE,),
        missing=missing,
    )
    return Worked(level=None, stretch=None, advisories=(*earlier, advisory))


def _with(worked: Worked, more: tuple[Advisory, ...]) -> Worked:
    return replace(worked, advisories=(*more, *worked.advisories))
