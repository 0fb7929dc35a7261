"""How many coils to have at hand for one level, which mouths their nest spans, what they cost."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.planning.landing_zones import Junction, Stretch
from coilwright.planning.plan import NestMouth
from coilwright.protocol import Protocol

# A nest that is as long as wanted to within this needs no further coil.
_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilNumber:
    """From ``number`` coils, if each draws out, to ``at_most``, if each packs close-wound.

    ``to_fill_zone`` of them fill the whole zone close-wound.
    """

    number: int
    at_most: int
    to_fill_zone: int
    text: str


def number_of_coils(nest_mm: tuple[float, float], zone: Stretch, protocol: Protocol) -> CoilNumber:
    """Coils, each with a nest from close-wound to drawn out, for the site's nest in this zone.

    How a coil lies down is not known before, so the number is a range; never below the local least.

    References
    ----------
    A second coil is often placed for safety: common practice, no source. REVIEW.md 9: no rule that
    one coil is enough.
    """
    close_wound_mm, drawn_out_mm = nest_mm
    zone_mm = zone.to_mm - zone.from_mm
    aim_mm = min(protocol.limit("coil-nest-length").value, zone_mm)
    least = math.ceil(protocol.limit("coils-per-level-least").value)
    by_length = _pieces(aim_mm, drawn_out_mm)
    number, at_most = max(least, by_length), max(least, _pieces(aim_mm, close_wound_mm))
    words = f"{number} to have at hand for {aim_mm:.0f} mm of nest"
    if at_most > number:
        words += f", up to {at_most} if they pack close-wound"
    if number > by_length:
        words += "; a second one is often placed for safety"
    to_fill_zone = _pieces(zone_mm, close_wound_mm)
    return CoilNumber(number=number, at_most=at_most, to_fill_zone=to_fill_zone, text=words)


def mouths_spanned(
    nest_mm: tuple[float, float], number: int, zone: Stretch, mouths: Sequence[Junction]
) -> tuple[NestMouth, ...]:
    """The mouths that the nest reaches from the zone's lower end upward.

    Packed are all ``number`` coils close-wound; drawn out is one coil alone, as long as its wire
    lets it. A mouth that lies just at the zone's lower end is spanned by any nest.
    """
    packed_mm, drawn_mm = number * nest_mm[0], nest_mm[1]
    return tuple(
        NestMouth(
            vessel=mouth.vessel,
            at_mm=mouth.at_mm,
            nest_from_mm=reach_mm,
            when_packed=reach_mm <= packed_mm,
        )
        for mouth in mouths
        if 0 <= (reach_mm := zone.to_mm - mouth.at_mm) <= max(packed_mm, drawn_mm)
    )


def cost_of(number: int, price: float | None) -> float | None:
    """Number times price in the department's own currency; null where no price is stated."""
    return None if price is None else number * price


def _pieces(length_mm: float, piece_mm: float) -> int:
    return max(1, math.ceil((length_mm - _SAME_MM) / piece_mm))
