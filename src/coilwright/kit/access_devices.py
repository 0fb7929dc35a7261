"""What opens the way: needles, wires, sheaths, catheters and microcatheters.

A value that a label does not give is null; nothing is read out of another value in its place.
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.kit.device import Device, ImpossibleLabel
from coilwright.units import fr_to_mm, inch_to_mm


class NeedleWall(StrEnum):
    """Wall of a needle. The same gauge has a wider bore with a thin wall."""

    REGULAR = "regular"
    THIN = "thin"


class WireEnd(StrEnum):
    """Stiffness of one end of a wire."""

    SOFT = "soft"
    STIFF = "stiff"


@dataclass(frozen=True, slots=True, kw_only=True)
class Needle(Device):
    """A puncture needle. Gauge names it; what passes is judged by the labelled bore alone."""

    gauge: int
    wall: NeedleWall
    length_cm: float | None = None
    inner_diameter_mm: float | None = None
    accepts_wire_inch: float | None = None

    @property
    def bore_mm(self) -> float | None:
        """Widest wire in millimetres by the label; null where the label gives neither value."""
        return _narrower_mm(self.accepts_wire_inch, self.inner_diameter_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire(Device):
    """A guide wire, or a wire that pushes coils.

    ``tip`` is the shape of the front end, ``stiffness`` that of the body; ``front_end`` and
    ``back_end`` say how stiff each end is.
    """

    wire_inch: float | None = None
    length_cm: float | None = None
    tip: str | None = None
    stiffness: str | None = None
    front_end: WireEnd | None = None
    back_end: WireEnd | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheath(Device):
    """An introducer sheath; ``accepts_fr`` is the largest catheter that it takes.

    ``accepts_wire_inch`` is that of its dilator; ``outer_fr`` is the hole that it makes.
    """

    accepts_fr: float | None = None
    accepts_wire_inch: float | None = None
    length_cm: float | None = None
    outer_fr: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Catheter(Device):
    """A catheter; ``outer_fr`` outside, its lumen in inches or millimetres as labelled."""

    outer_fr: float | None = None
    lumen_inch: float | None = None
    lumen_mm: float | None = None
    length_cm: float | None = None
    tip: str | None = None

    def __post_init__(self) -> None:
        Device.__post_init__(self)
        _check_wall(self)

    @property
    def bore_mm(self) -> float | None:
        """The lumen in millimetres, the narrower where it is labelled twice."""
        return _narrower_mm(self.lumen_inch, self.lumen_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Microcatheter(Device):
    """A microcatheter; ``outer_fr`` is its widest shaft, which a guide's lumen has to take.

    ``outer_distal_fr`` is the thinner shaft near the tip, which decides nothing here.
    """

    outer_fr: float | None = None
    outer_distal_fr: float | None = None
    lumen_inch: float | None = None
    lumen_mm: float | None = None
    length_cm: float | None = None
    tip: str | None = None

    def __post_init__(self) -> None:
        Device.__post_init__(self)
        _check_wall(self)
        distal = self.outer_distal_fr
        if self.outer_fr is not None and distal is not None and distal > self.outer_fr:
            raise ImpossibleLabel(
                "outer_distal_fr", "wider than the widest shaft", "give the widest as outer_fr"
            )

    @property
    def bore_mm(self) -> float | None:
        """The lumen in millimetres, the narrower where it is labelled twice."""
        return _narrower_mm(self.lumen_inch, self.lumen_mm)


def _narrower_mm(inch: float | None, mm: float | None) -> float | None:
    widths_mm = [] if mm is None else [mm]
    if inch is not None:
        widths_mm.append(inch_to_mm(inch))
    return min(widths_mm, default=None)


def _check_wall(tube: Catheter | Microcatheter) -> None:
    """Refuse a lumen as wide as the tube: one of the two is in another unit."""
    if tube.outer_fr is None:
        return
    outer_mm = fr_to_mm(tube.outer_fr)
    lumens = {
        "lumen_inch": None if tube.lumen_inch is None else inch_to_mm(tube.lumen_inch),
        "lumen_mm": tube.lumen_mm,
    }
    for field, lumen_mm in lumens.items():
        if lumen_mm is not None and lumen_mm >= outer_mm:
            raise ImpossibleLabel(
                field, f"wider inside than the {outer_mm:.2f} mm outside", "read both units again"
            )
