"""What a diameter means in one relaxed vein, worked out once for all devices of that diameter."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import cache

from coilwright.kit import Coil, DeliveryCheck, Plug
from coilwright.planning.coil_size import OversizeBand
from coilwright.planning.plan import LevelCalibre
from coilwright.planning.undersize import probability_undersized
from coilwright.protocol import Limit, Protocol

Head = tuple[bool, bool, float, bool, bool, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized:
    """One diameter in one vein; ``travels``: likelier to be undersized than the local ceiling."""

    diameter_mm: float
    undersized: float
    travels: bool
    above_band: bool
    off_target_mm: float


def sizing_in(
    relaxed: LevelCalibre, band: OversizeBand, protocol: Protocol
) -> Callable[[float], Sized]:
    """How any diameter in mm fits this vein; a shelf of thousands holds few diameters."""
    ceiling = protocol.limit("coil-undersized-probability-max").value

    @cache
    def sized(diameter_mm: float) -> Sized:
        undersized = probability_undersized(
            coil_mm=diameter_mm, relaxed_mm=relaxed.diameter_mm, sd_mm=relaxed.sd_mm
        )
        return Sized(
            diameter_mm=diameter_mm,
            undersized=undersized,
            travels=100 * undersized > ceiling,
            above_band=diameter_mm > band.most_mm,
            off_target_mm=abs(diameter_mm - band.target_mm),
        )

    return sized


def against(
    device: Coil | Plug,
    delivery: DeliveryCheck,
    sized: Sized,
    relaxed: LevelCalibre,
    least: Limit,
    on: date | None,
) -> tuple[str, ...]:
    """Every reason why a coil or plug is not advised; none means that it may be placed first.

    ``least`` is the relaxed calibre up to which nothing is sized.
    """
    reasons = []
    if sized.travels:
        reasons.append("may be narrower than the vein and travel")
    if relaxed.diameter_mm <= least.value:
        reasons.append(f"the vein is not wider than the {least.value:g} mm from which on any is")
    if not delivery.coil_passes:
        reasons.append(f"cannot be delivered: {delivery.text}")
    if device.shelf_count == 0:
        reasons.append("none on the shelf")
    if on is not None and device.expired(on):
        reasons.append(f"expired on {device.expiry}")
    return tuple(reasons)


def head(sized: Sized, delivery: DeliveryCheck, *, advised: bool) -> Head:
    """The part of the order that decides the diameter.

    In it nothing but the diameter depends on the vein, and no wider vein takes back a narrower
    diameter: the least safe one, the target and the most never fall as the vein widens.
    """
    return (
        not advised,
        sized.travels,
        sized.undersized if sized.travels else 0.0,
        not delivery.passes,
        sized.above_band,
        sized.off_target_mm,
        -sized.diameter_mm,
    )
