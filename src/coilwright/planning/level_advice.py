"""What has to be said about one level."""

from collections.abc import Iterator

from coilwright.advice import Advisory, Status, Urgency
from coilwright.kit import Kit
from coilwright.planning.calibre_jumps import WITHIN_MM, CalibreJump
from coilwright.planning.coil_ranking import percent, span_words
from coilwright.planning.coil_size import oversize_basis
from coilwright.planning.landing_zones import Junction
from coilwright.planning.level_calibre import ZoneCalibre
from coilwright.planning.ostium_limits import OstiumLimits
from coilwright.planning.plan import Level
from coilwright.protocol import COMMON_PRACTICE, Citation, Limit, Protocol, advise
from coilwright.units import fr_to_mm

LABELS = Citation(source="labelled dimensions compared", status=Status.COMPUTED)
WAIT_TEXT = "calibre unknown: wait, nitrate if safe, run again"


def advise_level(
    level: Level,
    calibre: ZoneCalibre,
    left_below: tuple[Junction, ...],
    kit: Kit,
    protocol: Protocol,
    *,
    ostium: tuple[float, OstiumLimits] | None = None,
) -> Iterator[Advisory]:
    """Every advisory that belongs to one level.

    ``ostium_mm`` is the ostium's arc where a drawn-out nest could reach it, else null.
    """
    if level.relaxed is None:
        yield _calibre_unknown(level, calibre, protocol)
    elif calibre.narrowings:
        yield _narrowed(level, calibre)
    if calibre.jump is not None:
        yield _jumps(level, calibre.jump, protocol)
    yield from _mouths(level, left_below, protocol)
    yield from _bend(level, protocol)
    if level.relaxed is not None and level.first_choice is None:
        yield _no_coil(level, protocol)
    if level.first_choice is not None:
        yield from _first_choice(level, protocol)
        yield from _nest(level, ostium, protocol)
        yield from _reach(level, kit)


def _calibre_unknown(level: Level, calibre: ZoneCalibre, protocol: Protocol) -> Advisory:
    share = protocol.limit("calibre-known-share-min")
    if level.measured is None or 100 * calibre.known_share < share.value:
        reason = f"{100 * calibre.known_share:.0f} % of the zone could be measured"
        basis: tuple[Limit, ...] = (share,)
    else:
        reason = "the zone lies in a narrowing whose relaxed calibre is not known"
        basis = ()
    return advise(
        rule="calibre-unknown",
        urgency=Urgency.STOP_AND_THINK,
        text=f"{level.name.capitalize()} level: {WAIT_TEXT} ({reason}). No coil is sized here.",
        basis=basis or (COMMON_PRACTICE,),
        missing=(f"relaxed calibre at the {level.name} level",),
    )


def _narrowed(level: Level, calibre: ZoneCalibre) -> Advisory:
    measured, relaxed = level.measured, level.relaxed
    narrow = f"{measured.diameter_mm:.1f} mm" if measured else "not measured"
    wide = f"{relaxed.diameter_mm:.1f} +- {relaxed.sd_mm:.1f} mm" if relaxed else "not known"
    return advise(
        rule="narrowing-at-level",
        urgency=Urgency.CAUTION,
        text=(
            f"{level.name.capitalize()} level: the vein is narrowed here, {narrow} at its widest "
            f"as seen, probably {wide} when relaxed. Coils are sized to the wider figure; "
            "measure again before a coil is called safe."
        ),
        basis=(COMMON_PRACTICE,),
        inputs={"narrowings": str(len(calibre.narrowings))},
    )


def _jumps(level: Level, jump: CalibreJump, protocol: Protocol) -> Advisory:
    limit = protocol.limit("calibre-jump-min")
    return advise(
        rule="calibre-jumps",
        urgency=Urgency.CAUTION,
        text=(
            f"{level.name.capitalize()} level: the calibre goes from {jump.before_mm:.1f} to "
            f"{jump.after_mm:.1f} mm between {jump.from_mm:.0f} and {jump.to_mm:.0f} mm along the "
            f"vein, in or beside this zone, by {jump.change_mm:.1f} mm within "
            f"{WITHIN_MM:.0f} mm. The measured course may have strayed into another vein, or the "
            "vein is in spasm: look at the run before a coil is sized to it."
        ),
        basis=(limit,),
        value=jump.change_mm,
        limit=limit.value,
        unit=limit.unit,
    )


def _mouths(
    level: Level, left_below: tuple[Junction, ...], protocol: Protocol
) -> Iterator[Advisory]:
    spanned = [mouth for mouth in level.mouths if mouth.gap_mm == 0]
    clearance = protocol.limit("mouth-clearance")
    near = [mouth for mouth in level.mouths if 0 < mouth.gap_mm < clearance.value]
    if spanned:
        names = ", ".join(f"{mouth.vessel} at {mouth.at_mm:.0f} mm" for mouth in spanned)
        text = f"the nest would span the mouth of {names}; no clear zone lies within reach."
        yield _mouth_advisory("nest-spans-mouth", level, text, clearance)
    if near:
        names = ", ".join(f"{mouth.vessel} ({mouth.gap_mm:.0f} mm away)" for mouth in near)
        text = f"the zone ends close to the mouth of {names}."
        yield _mouth_advisory("zone-near-mouth", level, text, clearance)
    if left_below:
        names = ", ".join(f"{mouth.vessel} at {mouth.at_mm:.0f} mm" for mouth in left_below)
        text = (
            f"{names} joins below this zone and could refill the vein there: a coil below its "
            "mouth, or sclerosant, would be needed to shut it too."
        )
        yield _mouth_advisory("mouth-left-below", level, text, protocol.limit("distal-slide-max"))


def _bend(level: Level, protocol: Protocol) -> Iterator[Advisory]:
    limit, turn_deg = protocol.limit("landing-zone-turn-max"), level.zone.sharpest_turn_deg
    if turn_deg is not None and turn_deg > limit.value:
        yield advise(
            rule="zone-in-bend",
            urgency=Urgency.CAUTION,
            text=(
                f"{level.name.capitalize()} level: the vein turns by {turn_deg:.0f} deg within "
                "20 mm in this zone, as projected, and no straighter one lies within reach. A "
                "stiff nest does not follow a bend."
            ),
            basis=(limit,),
            value=turn_deg,
            limit=limit.value,
            unit=limit.unit,
        )


def _mouth_advisory(rule: str, level: Level, text: str, limit: Limit) -> Advisory:
    return advise(
        rule=rule,
        urgency=Urgency.CAUTION,
        text=f"{level.name.capitalize()} level: {text}",
        basis=(limit,),
    )


def _no_coil(level: Level, protocol: Protocol) -> Advisory:
    ceiling = protocol.limit("coil-undersized-probability-max")
    return advise(
        rule="no-coil-advised",
        urgency=Urgency.STOP_AND_THINK,
        text=(
            f"{level.name.capitalize()} level: no coil of the kit can be advised first. "
            "The reason stands with each coil; a coil that may travel is not a first choice."
            + _plug_instead(level)
        ),
        basis=(ceiling,),
        limit=ceiling.value,
        unit=ceiling.unit,
        missing=(f"a coil on the shelf that suits the {level.name} level",),
    )


def _plug_instead(level: Level) -> str:
    plug = next((choice for choice in level.plugs if choice.advised), None)
    return "" if plug is None else f" Of the plugs, {plug.name} may be placed first."


def _first_choice(level: Level, protocol: Protocol) -> Iterator[Advisory]:
    first = level.choices[0]
    if first.may_stretch_out:
        yield _stretched(level, protocol)
    if not first.delivery.passes:
        yield advise(
            rule="delivery-not-shown",
            urgency=Urgency.CAUTION,
            text=(
                f"{level.name.capitalize()} level: {first.name} passes the catheter, but the way "
                f"to it is not shown to pass: {first.delivery.text}."
            ),
            basis=(LABELS,),
        )


def _nest(
    level: Level, ostium: tuple[float, OstiumLimits] | None, protocol: Protocol
) -> Iterator[Advisory]:
    """Where the first choice's nest, packed or drawn out, would lie beyond its zone."""
    first = level.choices[0]
    packed_mm, drawn_mm = (first.number or 1) * first.nest_length_mm[0], first.nest_length_mm[1]
    lengths = f"({packed_mm:.0f} mm packed, one coil drawn out {drawn_mm:.0f} mm)"
    if first.spans:
        text = f"first choice {lengths}: {span_words(first)}. Counted from the zone's lower end."
        yield _mouth_advisory("nest-may-span-mouth", level, text, protocol.limit("mouth-clearance"))
    if ostium is None:
        return
    ostium_mm, limits = ostium
    free_mm = level.zone.to_mm - ostium_mm
    if drawn_mm > free_mm:
        text = (
            f"the first choice {lengths} drawn out in full from the zone's lower end would "
            f"reach the ostium, {free_mm:.0f} mm away: the top coil must not project into the "
            f"{limits.opens_into}. Let loops form before it is let go, or take a shorter wire."
        )
        yield _mouth_advisory("nest-may-reach-ostium", level, text, limits.nearest)


def _reach(level: Level, kit: Kit) -> Iterator[Advisory]:
    """The vein that is narrower than what has to bring the coil into it.

    References
    ----------
    REVIEW.md 4: whether a catheter passes is judged by relaxed calibre, a microcatheter counts.
    """
    first, relaxed = level.choices[0], level.relaxed
    tube = first.delivery.microcatheter or first.delivery.catheter
    if tube is None or relaxed is None:
        return
    outer_fr = getattr(kit.device(tube), "outer_fr", None)
    if outer_fr is not None and fr_to_mm(outer_fr) >= relaxed.diameter_mm:
        yield advise(
            rule="catheter-as-wide-as-vein",
            urgency=Urgency.CAUTION,
            text=(
                f"{level.name.capitalize()} level: {first.name} comes through {outer_fr:g} F "
                f"({fr_to_mm(outer_fr):.2f} mm), as wide as the relaxed vein "
                f"({relaxed.diameter_mm:.1f} mm): whether it reaches the zone is not shown."
            ),
            basis=(LABELS,),
            value=relaxed.diameter_mm,
            limit=fr_to_mm(outer_fr),
            unit="mm",
        )


def _stretched(level: Level, protocol: Protocol) -> Advisory:
    first = level.choices[0]
    return advise(
        rule="coil-may-stretch-out",
        urgency=Urgency.CAUTION,
        text=(
            f"{level.name.capitalize()} level: the first choice ({first.name}) is "
            f"{100 * (first.oversize_ratio - 1):.0f} % over the relaxed calibre and may stretch "
            f"out instead of forming loops ({percent(first.probability_stretched_out)} chance). "
            "No narrower coil of the kit is safe enough against travel."
        ),
        basis=oversize_basis(protocol),
        value=first.oversize_ratio,
        unit="1",
    )
