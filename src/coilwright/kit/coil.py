"""Embolisation coils."""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.kit.device import Device, ImpossibleLabel
from coilwright.units import inch_to_mm


class CoilDelivery(StrEnum):
    """How a coil leaves the catheter."""

    PUSHABLE = "pushable"
    DETACHABLE = "detachable"


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil(Device):
    """A coil as labelled: loops of ``diameter_mm``, wound of ``length_mm`` of wire.

    ``wire_diameter_inch`` is the primary wind, the wire that runs through the catheter;
    ``needs_lumen_*`` are the narrowest and widest lumen that the label names, where it does;
    ``pusher_length_cm`` is that of a detachable coil's own pusher.
    """

    diameter_mm: float
    wire_diameter_inch: float
    length_mm: float
    fibred: bool
    shape: str
    delivery: CoilDelivery
    needs_lumen_min_inch: float | None = None
    needs_lumen_max_inch: float | None = None
    pusher_length_cm: float | None = None

    def __post_init__(self) -> None:
        Device.__post_init__(self)
        if inch_to_mm(self.wire_diameter_inch) >= self.diameter_mm:
            raise ImpossibleLabel(
                "wire_diameter_inch", "as thick as the coil is wide", "give the primary wind"
            )
        check_lumen_range(self.needs_lumen_min_inch, self.needs_lumen_max_inch)


def check_lumen_range(low_inch: float | None, high_inch: float | None) -> None:
    """Raise ImpossibleLabel where the narrowest labelled lumen is wider than the widest."""
    if low_inch is not None and high_inch is not None and low_inch > high_inch:
        raise ImpossibleLabel(
            "needs_lumen_max_inch", "narrower than the narrowest lumen", "exchange the two"
        )
