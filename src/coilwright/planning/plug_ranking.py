"""Every plug of the kit at one level, beside the coils: the same safety, its own oversize."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from coilwright.kit import DeliveryCheck, Plug
from coilwright.planning.coil_number import cost_of
from coilwright.planning.coil_ranking import Place, ordinal, size_words
from coilwright.planning.coil_size import plug_band
from coilwright.planning.plan import PlugChoice
from coilwright.planning.sizing import Sized, against, head, sizing_in
from coilwright.protocol import Protocol

# One plug is counted for a level; whether one is enough nobody claims.
PLUGS_PER_LEVEL = 1


def rank_plugs(
    plugs: Sequence[Plug],
    deliveries: Mapping[str, DeliveryCheck],
    place: Place,
    protocol: Protocol,
    on: date | None,
) -> tuple[PlugChoice, ...]:
    """The plugs in their order, with ranks from 1 for those that are advised.

    As of coils: on the shelf, in date, delivered through a lumen that its label allows, and no
    likelier to be narrower than the relaxed vein than the ceiling; then the whole chain passes,
    not above the oversize, closest to its middle (the wider at a tie), no microcatheter, short
    enough for the zone, the earlier expiry, the id.
    """
    band = plug_band(place.relaxed.diameter_mm, protocol)
    size_of = sizing_in(place.relaxed, band, protocol)
    least = protocol.limit("vein-for-coil-min")
    zone_mm = place.zone.to_mm - place.zone.from_mm
    judged = []
    for plug in plugs:
        sized, delivery = size_of(plug.diameter_mm), deliveries[plug.id]
        reasons = against(plug, delivery, sized, place.relaxed, least, on)
        choice = _choice(plug, delivery, sized, reasons, place)
        size = size_words(choice.oversize_ratio, sized.undersized, band, place.relaxed, protocol)
        key = (
            *head(sized, delivery, advised=not reasons),
            delivery.microcatheter is not None,
            plug.length_mm is not None and plug.length_mm > zone_mm,
            plug.expiry or date.max,
            plug.id,
        )
        judged.append((key, replace(choice, why=_why(choice, reasons, size, zone_mm))))
    ordered = [choice for _, choice in sorted(judged, key=lambda found: found[0])]
    return tuple(
        replace(choice, rank=rank, why=f"{ordinal(rank)}: {choice.why}")
        if choice.advised
        else choice
        for rank, choice in enumerate(ordered, start=1)
    )


def _choice(
    plug: Plug, delivery: DeliveryCheck, sized: Sized, reasons: tuple[str, ...], place: Place
) -> PlugChoice:
    return PlugChoice(
        rank=None,
        advised=not reasons,
        device=plug.id,
        name=plug.name,
        oversize_ratio=plug.diameter_mm / place.relaxed.diameter_mm,
        probability_undersized=sized.undersized,
        above_oversize=sized.above_band,
        length_mm=plug.length_mm,
        delivery=delivery,
        lot=plug.lot,
        expiry=plug.expiry,
        shelf_count=plug.shelf_count,
        why="",
        number=PLUGS_PER_LEVEL,
        price=plug.price,
        cost=cost_of(PLUGS_PER_LEVEL, plug.price),
    )


def _why(choice: PlugChoice, reasons: tuple[str, ...], size: Sequence[str], zone_mm: float) -> str:
    words = list(size)
    if choice.length_mm is None:
        words.append("length not labelled")
    else:
        words.append(f"{choice.length_mm:g} mm long as labelled")
        if choice.length_mm > zone_mm:
            words.append("longer than the landing zone")
    if choice.above_oversize:
        words.append("over the local oversize: it lies longer than labelled")
    if choice.delivery.coil_passes and not choice.delivery.passes:
        words.append(f"the way to it is not shown to pass: {choice.delivery.text}")
    if reasons:
        words.insert(0, f"not advised: {'; '.join(reasons)}")
    return "; ".join(words)
