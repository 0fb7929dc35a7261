"""The levels of a plan: zone, calibre, coils, and what has to be said about each."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from coilwright.advice import Advisory, Urgency
from coilwright.kit import DeliveryCheck, Kit
from coilwright.planning.coil_ranking import Place, rank_coils
from coilwright.planning.curvature import sharpest_turn_deg
from coilwright.planning.landing_zones import (
    Floor,
    Junction,
    Stretch,
    distal_stretch,
    gap_mm,
    mark_floor,
    middle_stretch,
    mouths_on,
    upper_stretch,
)
from coilwright.planning.level_advice import advise_level
from coilwright.planning.level_calibre import calibre_of_zone
from coilwright.planning.middle_need import MIDDLE_RULE, MiddleNeed, middle_need, past_every_level
from coilwright.planning.ostium_limits import OstiumLimits, ostium_limits
from coilwright.planning.plan import LandingZone, Level, LevelName, Mouth
from coilwright.planning.plug_ranking import rank_plugs
from coilwright.planning.relaxation import if_relaxes
from coilwright.planning.tip_distance import tip_from_zone
from coilwright.planning.trunk_course import Projection, point_at, project_onto
from coilwright.protocol import COMMON_PRACTICE, Basis, Protocol, advise
from coilwright.veins import VeinMap, Vessel

RAMUS_MISSING = "upper edge of the superior pubic ramus (landmarks.superior_ramus_edge)"
OSTIUM_MISSING = "ostium (landmarks.ostium)"
WHY_DISTAL = (
    "The coil goes below the side veins that would refill the vein, as far as the floor lets it."
)
WHY_UPPER = "A second barrier: what refills the vein from above meets it before the distal level."
ORDERS = {LevelName.DISTAL: 1, LevelName.MIDDLE: 2, LevelName.UPPER: 3}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Everything that the levels are worked out from; deliveries of coils and plugs by id."""

    vein_map: VeinMap
    trunk: Vessel
    kit: Kit
    deliveries: Mapping[str, DeliveryCheck]
    protocol: Protocol
    on: date | None

    @property
    def ostium_limits(self) -> OstiumLimits:
        """Those of the map's side."""
        return ostium_limits(self.vein_map.side, self.protocol)


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
        why=WHY_DISTAL,
    )
    return _with(worked, (*doubtful, *_seen_short(bench, floor)))


def upper_level(bench: Bench, distal: Stretch | None) -> Worked:
    """The level below the ostium; none where the ostium is not known."""
    mark = bench.vein_map.landmarks.ostium
    if mark is None:
        return _none(
            "ostium-missing",
            "No upper level: the ostium is not on the map. Not shown: inject the "
            f"{bench.ostium_limits.opens_into} with Valsalva, or mark the ostium on the raw frame.",
            (OSTIUM_MISSING,),
        )
    ostium = project_onto(
        bench.trunk, mark.point_px, mm_per_pixel=bench.vein_map.calibration.mm_per_pixel
    )
    doubtful = _doubtful_mark("ostium", ostium, bench)
    mouths = mouths_on(bench.vein_map, bench.trunk)
    stretch = upper_stretch(
        bench.trunk,
        ostium.arc_mm,
        _lowest_mm(bench, distal),
        mouths,
        bench.ostium_limits,
        bench.protocol,
    )
    if stretch is None:
        return _none(
            "upper-no-room",
            "No upper level: between the ostium and what lies below, too little of the vein was "
            "seen to hold a landing zone of its own.",
            ("the vein below the ostium, on a run",),
            bench.protocol.limit("landing-zone-length"),
            bench.ostium_limits.nearest,
            earlier=doubtful,
        )
    worked = _worked(
        LevelName.UPPER, bench, stretch, mouths=mouths, ostium_mm=ostium.arc_mm, why=WHY_UPPER
    )
    return _with(worked, (*doubtful, *_far_from_ostium(bench, stretch, ostium)))


def middle_level(bench: Bench, distal: Stretch | None, upper: Stretch | None) -> Worked | None:
    """The level between the other two, null where nothing that was seen asks for one."""
    if distal is None or upper is None:
        return None
    mouths = mouths_on(bench.vein_map, bench.trunk)
    past = _past_every_level(mouths, distal, upper)
    need = middle_need(bench.vein_map, bench.trunk, distal, upper, bench.protocol)
    if need is None:
        return Worked(level=None, stretch=None, advisories=past) if past else None
    stretch = middle_stretch(
        bench.trunk, (upper.to_mm, need.lowest_mm), need.feeders, mouths, bench.protocol
    )
    if stretch is None or not need.served_by(stretch):
        return _with(_no_middle(need, bench.protocol), past)
    return _with(
        _worked(
            LevelName.MIDDLE,
            bench,
            stretch,
            mouths=mouths,
            left_below=need.left_below(stretch),
            why=need.why(stretch),
        ),
        (*past, _middle_advised(need, stretch)),
    )


def _past_every_level(
    mouths: tuple[Junction, ...], distal: Stretch, upper: Stretch
) -> tuple[Advisory, ...]:
    past = past_every_level(mouths, distal, upper)
    if not past:
        return ()
    names = ", ".join(mouth.vessel for mouth in past)
    text = (
        f"{names} leaves the trunk above the upper level and rejoins it below the distal one: no "
        "coil in the trunk shuts it. It has to be closed itself, by a coil in it or by sclerosant."
    )
    return (
        advise(
            rule="duplicate-past-every-level",
            urgency=Urgency.STOP_AND_THINK,
            text=text,
            basis=(COMMON_PRACTICE,),
        ),
    )


def _middle_advised(need: MiddleNeed, stretch: Stretch) -> Advisory:
    return advise(
        rule="middle-level",
        urgency=Urgency.INFO,
        text=f"{need.why(stretch)} {MIDDLE_RULE}",
        basis=(COMMON_PRACTICE,),
    )


def _no_middle(need: MiddleNeed, protocol: Protocol) -> Worked:
    advisory = advise(
        rule="middle-no-room",
        urgency=Urgency.CAUTION,
        text=(
            f"{need.asked_for()} No clear landing zone lies there between the levels: sclerosant "
            "between the levels, or a coil in that vein itself, would be needed."
        ),
        basis=(protocol.limit("landing-zone-length"), protocol.limit("mouth-clearance")),
    )
    return Worked(level=None, stretch=None, advisories=(advisory,))


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
    why: str = "",
) -> Worked:
    calibre = calibre_of_zone(
        bench.vein_map, bench.trunk, stretch.from_mm, stretch.to_mm, bench.protocol
    )
    level = Level(
        name=name,
        order=ORDERS[name],
        zone=_zone(bench.trunk, stretch, bony_landmark, ostium_mm),
        measured=calibre.measured,
        relaxed=calibre.relaxed,
        mouths=_near(stretch, mouths, bench.protocol),
        tip=tip_from_zone(bench.vein_map, bench.trunk, stretch),
        choices=(),
        first_choice=None,
        why=why,
    )
    if calibre.relaxed is not None:
        place = Place(zone=stretch, relaxed=calibre.relaxed, ostium_mm=ostium_mm, mouths=mouths)
        level = _with_devices(level, bench, place)
    return Worked(
        level=level,
        stretch=stretch,
        advisories=tuple(
            advise_level(
                level,
                calibre,
                left_below,
                bench.kit,
                bench.protocol,
                ostium=None if ostium_mm is None else (ostium_mm, bench.ostium_limits),
            )
        ),
        assumptions=calibre.assumptions,
    )


def _with_devices(level: Level, bench: Bench, place: Place) -> Level:
    """The level with its coils and plugs in order, and what changes if the vein relaxes."""
    coils, plugs = bench.kit.coils, bench.kit.plugs
    deliveries, protocol, on = bench.deliveries, bench.protocol, bench.on
    choices = rank_coils(coils, deliveries, place, protocol, on)
    return replace(
        level,
        choices=choices,
        first_choice=next((choice.device for choice in choices if choice.advised), None),
        plugs=rank_plugs(plugs, deliveries, place, protocol, on),
        if_relaxes=if_relaxes(coils, deliveries, place, protocol, on),
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
        sharpest_turn_deg=sharpest_turn_deg(trunk, stretch.from_mm, stretch.to_mm),
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
    limit = bench.ostium_limits.farthest
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
