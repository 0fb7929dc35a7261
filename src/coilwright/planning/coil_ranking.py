"""Every coil of the kit at one level, in a stated order; what may travel never has a rank."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from coilwright.kit import Coil, DeliveryCheck
from coilwright.planning.coil_nest import nest_length_mm, packing_percent
from coilwright.planning.coil_number import cost_of, mouths_spanned, number_of_coils
from coilwright.planning.coil_size import OversizeBand, oversize_band, too_narrow_for_mm
from coilwright.planning.landing_zones import Junction, Stretch
from coilwright.planning.plan import DeviceChoice, LevelCalibre
from coilwright.planning.sizing import Head, Sized, against, head, sizing_in
from coilwright.planning.undersize import probability_narrower
from coilwright.protocol import Limit, Protocol
from coilwright.units import inch_to_mm

ORDER_RULE = (
    "Advised at all: a coil that is on the shelf and in date, passes the catheter, is wound of a "
    "wire thinner than any vein that a coil is sized to, and is no likelier to be narrower than "
    "the relaxed vein than the local ceiling. Among these, first to last: the whole chain from "
    "needle to pusher passes; not so wide that it stretches out; closest to the middle of the "
    "local oversize, the wider at a tie; no microcatheter needed; the close-wound nest fits the "
    "landing zone; the drawn-out nest stays clear of the ostium; as many on the shelf as are to "
    "be at hand; the longer wire, so fewer coils for the same nest; the earlier expiry; the id. "
    "Coils that are not advised follow without a rank, with the reason, those that may travel "
    "last. Plugs are ranked beside the coils, by their own oversize."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """What the ranking needs to know of one level.

    ``ostium_mm`` is the ostium's arc where a drawn-out nest could reach it, else null;
    ``mouths`` are those of the whole trunk.
    """

    zone: Stretch
    relaxed: LevelCalibre
    ostium_mm: float | None
    mouths: tuple[Junction, ...] = ()


Key = tuple[object, ...]
Nest = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fitted:
    """One coil at one place, worked out as far as its order needs it."""

    coil: Coil
    delivery: DeliveryCheck
    sized: Sized
    reasons: tuple[str, ...]
    head: Head


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
    band = oversize_band(place.relaxed.diameter_mm, protocol)
    judged = []
    for fitted in _fitted(coils, deliveries, place, protocol, on):
        nest = _nest(fitted.coil, place)
        choice = _choice(fitted, nest, band, place, protocol)
        judged.append((choice, (*fitted.head, *_tail(fitted, nest, place, protocol))))
    ordered = [choice for choice, _ in sorted(judged, key=lambda found: found[1])]
    return tuple(
        replace(choice, rank=rank, why=f"{ordinal(rank)}: {choice.why}")
        if choice.advised
        else choice
        for rank, choice in enumerate(ordered, start=1)
    )


def first_coil(
    coils: Sequence[Coil],
    deliveries: Mapping[str, DeliveryCheck],
    place: Place,
    protocol: Protocol,
    on: date | None,
) -> Coil | None:
    """The coil that ``rank_coils`` puts first, null where none is advised; without the rest."""
    advised = [f for f in _fitted(coils, deliveries, place, protocol, on) if not f.reasons]
    if not advised:
        return None
    best = min(fitted.head for fitted in advised)
    alike = [fitted for fitted in advised if fitted.head == best]
    return min(alike, key=lambda f: _tail(f, _nest(f.coil, place), place, protocol)).coil


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
    tenths = probability < 0.1 or probability > 0.99
    return f"{100 * probability:.1f} %" if tenths else f"{100 * probability:.0f} %"


def ordinal(rank: int) -> str:
    """A rank in words."""
    names = {1: "first choice", 2: "second choice", 3: "third choice"}
    return names.get(rank, f"choice {rank}")


def _fitted(
    coils: Sequence[Coil],
    deliveries: Mapping[str, DeliveryCheck],
    place: Place,
    protocol: Protocol,
    on: date | None,
) -> list[_Fitted]:
    relaxed = place.relaxed
    size_of = sizing_in(relaxed, oversize_band(relaxed.diameter_mm, protocol), protocol)
    least = protocol.limit("vein-for-coil-min")
    found = []
    for coil in coils:
        wire_mm = inch_to_mm(coil.wire_diameter_inch)
        if wire_mm >= relaxed.diameter_mm:
            continue
        sized, delivery = size_of(coil.diameter_mm), deliveries[coil.id]
        reasons = against(coil, delivery, sized, relaxed, least, on)
        if wire_mm >= least.value:
            reasons = (*reasons, f"its wire of {wire_mm:.2f} mm is as thick as {least.value:g} mm")
        order = head(sized, delivery, advised=not reasons)
        found.append(
            _Fitted(coil=coil, delivery=delivery, sized=sized, reasons=reasons, head=order)
        )
    return found


def _nest(coil: Coil, place: Place) -> Nest:
    return nest_length_mm(
        coil_diameter_mm=coil.diameter_mm,
        wire_mm=inch_to_mm(coil.wire_diameter_inch),
        length_mm=coil.length_mm,
        vein_mm=place.relaxed.diameter_mm,
    )


def _tail(fitted: _Fitted, nest: Nest, place: Place, protocol: Protocol) -> Key:
    """The part of the order that decides among coils of one diameter."""
    coil = fitted.coil
    return (
        fitted.delivery.microcatheter is not None,
        nest[0] > place.zone.to_mm - place.zone.from_mm,
        _reaches_ostium(nest, place),
        coil.shelf_count < number_of_coils(nest, place.zone, protocol).number,
        -coil.length_mm,
        coil.expiry or date.max,
        coil.id,
    )


def _choice(
    fitted: _Fitted, nest: Nest, band: OversizeBand, place: Place, protocol: Protocol
) -> DeviceChoice:
    coil, vein_mm = fitted.coil, place.relaxed.diameter_mm
    stretched = probability_narrower(
        than_mm=too_narrow_for_mm(coil.diameter_mm, protocol),
        relaxed_mm=vein_mm,
        sd_mm=place.relaxed.sd_mm,
    )
    number = number_of_coils(nest, place.zone, protocol)
    choice = DeviceChoice(
        rank=None,
        advised=not fitted.reasons,
        device=coil.id,
        name=coil.name,
        oversize_ratio=coil.diameter_mm / vein_mm,
        probability_undersized=fitted.sized.undersized,
        probability_stretched_out=stretched,
        may_stretch_out=fitted.sized.above_band,
        nest_length_mm=nest,
        packing_percent=packing_percent(
            wire_mm=inch_to_mm(coil.wire_diameter_inch),
            length_mm=coil.length_mm,
            vein_mm=vein_mm,
            segment_mm=place.zone.to_mm - place.zone.from_mm,
        ),
        delivery=fitted.delivery,
        lot=coil.lot,
        expiry=coil.expiry,
        shelf_count=coil.shelf_count,
        why="",
        number=number.number,
        number_to_fill_zone=number.to_fill_zone,
        number_text=number.text,
        spans=mouths_spanned(nest, number.number, place.zone, place.mouths),
        price=coil.price,
        cost=cost_of(number.number, coil.price),
    )
    return replace(choice, why=_why(choice, fitted.reasons, band, place, protocol))


def _why(
    choice: DeviceChoice,
    reasons: tuple[str, ...],
    band: OversizeBand,
    place: Place,
    protocol: Protocol,
) -> str:
    low, high = choice.nest_length_mm
    words = [
        *size_words(
            choice.oversize_ratio, choice.probability_undersized, band, place.relaxed, protocol
        ),
        f"nest {low:.0f} mm close-wound to {high:.0f} mm drawn out",
    ]
    if choice.may_stretch_out:
        words.append("so wide that it may stretch out instead of forming loops")
    if choice.spans:
        words.append(span_words(choice))
    if _reaches_ostium(choice.nest_length_mm, place):
        words.append("drawn out in full it would reach the ostium")
    if choice.number is not None and choice.shelf_count < choice.number and choice.advised:
        words.append(f"{choice.shelf_count} on the shelf, {choice.number} to have at hand")
    if choice.delivery.coil_passes and not choice.delivery.passes:
        words.append(f"the way to it is not shown to pass: {choice.delivery.text}")
    if reasons:
        words.insert(0, f"not advised: {'; '.join(reasons)}")
    return "; ".join(words)


def size_words(
    ratio: float, undersized: float, band: OversizeBand, relaxed: LevelCalibre, protocol: Protocol
) -> list[str]:
    """Oversize and the chance of being undersized, with the ceiling's standing."""
    ceiling, over = protocol.limit("coil-undersized-probability-max"), 100 * (ratio - 1)
    words = [
        f"{abs(over):.0f} % {'over' if over >= 0 else 'under'} the relaxed "
        f"{relaxed.diameter_mm:.1f} mm",
        f"{percent(undersized)} chance undersized ({ceiling_words(ceiling)})",
    ]
    if relaxed.diameter_mm * ratio < band.least_mm:
        words.append("less oversize than the local limits aim at")
    return words


def span_words(choice: DeviceChoice) -> str:
    """The mouths that the nest of one choice spans, packed or drawn out."""
    packed = [mouth.vessel for mouth in choice.spans if mouth.when_packed]
    drawn = [
        f"{mouth.vessel} once longer than {mouth.nest_from_mm:.0f} mm"
        for mouth in choice.spans
        if not mouth.when_packed
    ]
    words = []
    if packed:
        words.append(f"packed, the nest would span the mouth of {', '.join(packed)}")
    if drawn:
        words.append(f"drawn out, the nest would span the mouth of {', '.join(drawn)}")
    return "; ".join(words)


def _reaches_ostium(nest: Nest, place: Place) -> bool:
    if place.ostium_mm is None:
        return False
    return place.zone.to_mm - nest[1] < place.ostium_mm
