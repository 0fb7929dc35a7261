"""What has to be said about one level."""

from collections.abc import Iterator

from coilwright.advice import Advisory, Status, Urgency
from coilwright.planning.coil_ranking import percent
from coilwright.planning.coil_size import oversize_basis
from coilwright.planning.landing_zones import Junction
from coilwright.planning.level_calibre import ZoneCalibre
from coilwright.planning.plan import Level
from coilwright.protocol import COMMON_PRACTICE, Citation, Limit, Protocol, advise

LABELS = Citation(source="labelled dimensions compared", status=Status.COMPUTED)
WAIT_TEXT = "calibre unknown: wait, nitrate if safe, run again"


def advise_level(
    level: Level, calibre: ZoneCalibre, left_below: tuple[Junction, ...], protocol: Protocol
) -> Iterator[Advisory]:
    """Every advisory that belongs to one level."""
    if level.relaxed is None:
        yield _calibre_unknown(level, calibre, protocol)
    elif calibre.narrowings:
        yield _narrowed(level, calibre)
    yield from _mouths(level, left_below, protocol)
    if level.relaxed is not None and level.first_choice is None:
        yield _no_coil(level, protocol)
    if level.first_choice is not None:
        yield from _first_choice(level, protocol)


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
        ),
        basis=(ceiling,),
        limit=ceiling.value,
        unit=ceiling.unit,
        missing=(f"a coil on the shelf that suits the {level.name} level",),
    )


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
