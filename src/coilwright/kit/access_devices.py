"""What opens the way: needles, wires, sheaths, catheters and microcatheters."""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.kit.device import Device
from coilwright.units import inch_to_mm


class NeedleWall(StrEnum):
    """Wall of a needle. The same gauge has a wider bore with a thin wall."""

    REGULAR = "regular"
    THIN = "thin"


@dataclass(frozen=True, slots=True, kw_only=True)
class Needle(Device):
    """A puncture needle. Gauge names it; what passes is judged by the labelled bore alone."""

    gauge: int
    wall: NeedleWall
    length_cm: float
    inner_diameter_mm: float | None = None
    accepts_wire_inch: float | None = None

    @property
    def bore_mm(self) -> float | None:
        """Widest wire in millimetres by the label; null where the label gives neither value."""
        widths_mm = [self.inner_diameter_mm] if self.inner_diameter_mm is not None else []
        if self.accepts_wire_inch is not None:
            widths_mm.append(inch_to_mm(self.accepts_wire_inch))
        return min(widths_mm, default=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire(Device):
    """A guide wire, or a wire that pushes coils."""

    wire_inch: float
    length_cm: float
    tip: str | None = None
    stiffness: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheath(Device):
    """An introducer sheath; ``accepts_fr`` is the largest catheter that it takes."""

    accepts_fr: float
    accepts_wire_inch: float
    length_cm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Catheter(Device):
    """A catheter; ``outer_fr`` outside, ``lumen_inch`` labelled "accepts wire up to"."""

    outer_fr: float
    lumen_inch: float
    length_cm: float
    tip: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Microcatheter(Device):
    """A microcatheter; ``outer_fr`` is its widest shaft, which a guide's lumen has to take."""

    outer_fr: float
    lumen_inch: float
    length_cm: float
