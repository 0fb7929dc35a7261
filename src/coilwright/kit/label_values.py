"""What a label says that fitting needs: a value in millimetres, or the words for what to read off.

Widths are compared in millimetres, gauge never.

References
----------
CLINICAL.md section 7: catheter F is outer, sheath F is the largest catheter it accepts (learnir,
thoracickey); a needle is judged by its labelled bore. REVIEW.md 9: coil wire against the labelled
lumen, a microcatheter's widest shaft against the guide's.
"""

from typing import NamedTuple

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device
from coilwright.kit.plug import Plug
from coilwright.kit.snare import Snare
from coilwright.units import fr_to_mm, inch_to_mm

MM_PER_CM = 10.0


class Labelled(NamedTuple):
    """A labelled value in millimetres, null where the label is silent, and what it is called."""

    mm: float | None
    what: str


def width_of(inner: Device, outer: Device) -> Labelled:
    """What ``inner`` needs of a bore: the widest part that has to go through."""
    mm: float | None
    match inner:
        case Wire():
            mm, what = _inch(inner.wire_inch), "the wire's diameter (in)"
        case Coil():
            mm, what = _inch(inner.wire_diameter_inch), "the primary wind (in)"
        case Plug():
            mm, what = _inch(inner.needs_lumen_min_inch), "the narrowest lumen it needs (in)"
        case Snare() if isinstance(outer, Sheath) and inner.needs_sheath_fr is not None:
            mm, what = fr_to_mm(inner.needs_sheath_fr), "the sheath that it needs (F)"
        case Snare():
            mm, what = _inch(inner.shaft_inch), "the snare's widest part (in)"
        case Microcatheter():
            mm, what = _fr(inner.outer_fr), "the widest (proximal) shaft (F)"
        case Catheter() | Sheath():
            mm, what = _fr(inner.outer_fr), "the outer size (F)"
        case _:
            raise TypeError(f"{type(inner).__name__} does not go through anything")
    return Labelled(mm, what)


def bore_of(outer: Device, inner: Device) -> Labelled:
    """The width that ``outer`` offers to ``inner``."""
    match outer:
        case Needle():
            return Labelled(outer.bore_mm, "the inner diameter (mm) or widest wire (in)")
        case Sheath() if isinstance(inner, Wire):
            return Labelled(_inch(outer.accepts_wire_inch), "the widest wire of its dilator (in)")
        case Sheath():
            return Labelled(_fr(outer.accepts_fr), "the largest catheter it accepts (F)")
        case Catheter() | Microcatheter():
            return Labelled(outer.bore_mm, "the lumen (in or mm)")
    raise TypeError(f"nothing goes through {type(outer).__name__}")


def length_of(device: Device) -> Labelled:
    """The length that has to reach, or that has to be passed."""
    match device:
        case Coil() | Plug():
            return Labelled(_cm(device.pusher_length_cm), "the length of its own pusher (cm)")
        case Needle() | Wire() | Sheath() | Catheter() | Microcatheter() | Snare():
            return Labelled(_cm(device.length_cm), "the length (cm)")
    raise TypeError(f"the length of {type(device).__name__} does not matter here")


def silent(*read: tuple[Device, Labelled]) -> tuple[tuple[Device, str], ...]:
    """The devices whose label is silent, each with what to read off it."""
    return tuple((device, value.what) for device, value in read if value.mm is None)


def _inch(value: float | None) -> float | None:
    return None if value is None else inch_to_mm(value)


def _fr(value: float | None) -> float | None:
    return None if value is None else fr_to_mm(value)


def _cm(value: float | None) -> float | None:
    return None if value is None else value * MM_PER_CM
