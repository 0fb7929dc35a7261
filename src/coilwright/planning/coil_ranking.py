"""Every coil of the kit at one level, in a stated order; what may travel never has a rank."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from coilwright.kit import Coil, DeliveryCheck
from coilwright.planning.coil_nest import nest_length_mm, packing_percent
from coilwright.planning.coil_size import oversize_band, too_narrow_for_mm
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.plan import DeviceChoice, LevelCalibre
from coilwright.planning.undersize import probability_narrower, probability_undersized
from coilwright.protocol import Limit, Protocol
from coilwright.units import inch_to_mm

ORDER_RULE = (
    "Advised at all: a coil that is on the shelf and in date, passes the catheter, and is no "
    "likelier to be narrower than the relaxed vein than the local ceiling. Among these, first to "
    "last: the whole chain from needle to pusher passes; not so wide that it stretches out; "
    "closest to the middle of the local oversize, the wider at a tie; no microcatheter needed; "
    "the close-wound nest fits the landing zone; the drawn-out nest stays clear of the ostium; "
    "the longer wire, so fewer coils for the same nest; the earlier expiry; the id. Coils that "
    "are not advised follow without a rank, with the reason, those that may travel last."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """What the ranking needs to know of one level.

    ``ostium_mm`` is the ostium's arc where a drawn-out nest could reach it, else null.
    """

    zone: Stretch
    relaxed: LevelCalibre
    ostium_mm: float | None


Key = tuple[object, ...]


def rank_coils(
    coils: Sequence[Coil],
    deliveries: Mapping[str, DeliveryCheck],
    place: Place,
    protocol: Protocol,
    on: date | None,
) -> tuple[DeviceChoice, ...]:
    """The coils in the order of ``ORDER_RULE``, with ranks from 1 for those that are advised.

    ``deliveries`` holds the delivery check of every coil by its id. A coil whose wire is as thick
    as the vein makes no loop in it and is left out.
    """
    vein_mm = place.relaxed.diameter_mm
    looping = [coil for coil in coils if inch_to_mm(coil.wire_diameter_inch) < vein_mm]
    judged = [_judge(coil, deliveries[coil.id], place, protocol, on) for coil in looping]
    ordered = [choice for choice, _ in sorted(judged, key=lambda found: found[1])]
    return tuple(
        replace(choice, rank=rank, why=f"{_ordinal(rank)}: {choice.why}")
        if choice.advised
        else choice
        for rank, choice in enumerate(ordered, start=1)
    )


def ceiling_words(limit: Limit) -> str:
    """The ceiling with its standing: a limit from memory is never shown as satisfied."""
    words = f"local ceiling {limit.value:g} %"
    return words if limit.stands else f"{words}, from memory and not signed off"


def percent(probability: float) -> str:
    """A probability in words; never 0 % or 100 %, which no measurement supports."""
    if probability < 0.001:
        return "under 0.1 %"
    if probability > 0.999:
        return "over 99.9 %"
    return f"{100 * probability:.1f} %" if probability < 0.1 else f"{100 * probability:.0f} %"


def _judge(
    coil: Coil, delivery: DeliveryCheck, place: Place, protocol: Protocol, on: date | None
) -> tuple[DeviceChoice, Key]:
    vein_mm, sd_mm = place.relaxed.diameter_mm, place.relaxed.sd_mm
    wire_mm = inch_to_mm(coil.wire_diameter_inch)
    undersized = probability_undersized(coil_mm=coil.diameter_mm, relaxed_mm=vein_mm, sd_mm=sd_mm)
    stretched = probability_narrower(
        than_mm=too_narrow_for_mm(coil.diameter_mm, protocol), relaxed_mm=vein_mm, sd_mm=sd_mm
    )
    nest = nest_length_mm(
        coil_diameter_mm=coil.diameter_mm,
        wire_mm=wire_mm,
        length_mm=coil.length_mm,
        vein_mm=vein_mm,
    )
    zone_mm = place.zone.to_mm - place.zone.from_mm
    reasons = _against(coil, delivery, undersized, protocol, on)
    choice = DeviceChoice(
        rank=None,
        advised=not reasons,
        device=coil.id,
        name=coil.name,
        oversize_ratio=coil.diameter_mm / vein_mm,
        probability_undersized=undersized,
        probability_stretched_out=stretched,
        may_stretch_out=coil.diameter_mm > oversize_band(vein_mm, protocol).most_mm,
        nest_length_mm=nest,
        packing_percent=packing_percent(
            wire_mm=wire_mm, length_mm=coil.length_mm, vein_mm=vein_mm, segment_mm=zone_mm
        ),
        delivery=delivery,
        lot=coil.lot,
        expiry=coil.expiry,
        shelf_count=coil.shelf_count,
        why="",
    )
    choice = replace(choice, why=_why(choice, reasons, place, protocol))
    return choice, _key(choice, coil, place, protocol)


def _against(
    coil: Coil, delivery: DeliveryCheck, undersized: float, protocol: Protocol, on: date | None
) -> tuple[str, ...]:
    """Every reason why this coil is not advised here; none means that it may be placed first."""
    ceiling = protocol.limit("coil-undersized-probability-max")
    reasons = []
    if 100 * undersized > ceiling.value:
        reasons.append("may be narrower than the vein and travel")
    if not delivery.coil_passes:
        reasons.append(f"cannot be delivered: {delivery.text}")
    if coil.shelf_count == 0:
        reasons.append("none on the shelf")
    if on is not None and coil.expired(on):
        reasons.append(f"expired on {coil.expiry}")
    return tuple(reasons)


def _key(choice: DeviceChoice, coil: Coil, place: Place, protocol: Protocol) -> Key:
    ceiling = protocol.limit("coil-undersized-probability-max").value / 100.0
    target_mm = oversize_band(place.relaxed.diameter_mm, protocol).target_mm
    zone_mm = place.zone.to_mm - place.zone.from_mm
    travels = choice.probability_undersized > ceiling
    return (
        not choice.advised,
        travels,
        choice.probability_undersized if travels else 0.0,
        not choice.delivery.passes,
        choice.may_stretch_out,
        abs(coil.diameter_mm - target_mm),
        -coil.diameter_mm,
        choice.delivery.microcatheter is not None,
        choice.nest_length_mm[0] > zone_mm,
        _reaches_ostium(choice, place),
        -coil.length_mm,
        coil.expiry or date.max,
        coil.id,
    )


def _why(choice: DeviceChoice, reasons: tuple[str, ...], place: Place, protocol: Protocol) -> str:
    ceiling = protocol.limit("coil-undersized-probability-max")
    band = oversize_band(place.relaxed.diameter_mm, protocol)
    over = 100 * (choice.oversize_ratio - 1)
    low, high = choice.nest_length_mm
    words = [
        f"{abs(over):.0f} % {'over' if over >= 0 else 'under'} the relaxed "
        f"{place.relaxed.diameter_mm:.1f} mm",
        f"{percent(choice.probability_undersized)} chance undersized ({ceiling_words(ceiling)})",
        f"nest {low:.0f} mm close-wound to {high:.0f} mm drawn out",
    ]
    if place.relaxed.diameter_mm * choice.oversize_ratio < band.least_mm:
        words.append("less oversize than the local limits aim at")
    if choice.may_stretch_out:
        words.append("so wide that it may stretch out instead of forming loops")
    if _reaches_ostium(choice, place):
        words.append("drawn out in full it would reach the ostium")
    if choice.delivery.coil_passes and not choice.delivery.passes:
        words.append(f"the way to it is not shown to pass: {choice.delivery.text}")
    if reasons:
        words.insert(0, f"not advised: {'; '.join(reasons)}")
    return "; ".join(words)


def _reaches_ostium(choice: DeviceChoice, place: Place) -> bool:
    if place.ostium_mm is None:
        return False
    return place.zone.to_mm - choice.nest_length_mm[1] < place.ostium_mm


def _ordinal(rank: int) -> str:
    names = {1: "first choice", 2: "second choice", 3: "third choice"}
    return names.get(rank, f"choice {rank}")
