"""What an operator adds to a vein map to make a network of it: ends, channels, protected veins.

The map knows what one venogram showed. Where a far end leads, which vein must stay open, which
channel was seen on fluoroscopy or years ago on another picture: only a person can say.
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.veins import OwnEnd
from coilwright.veins.edits import Signed
from coilwright.veins.vein_network import PointKind


class SeenBy(StrEnum):
    """Where a channel that is not on the map is known from."""

    FLUOROSCOPY = "fluoroscopy"
    EARLIER_IMAGING = "earlier-imaging"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A place on a vessel of the map, by its arc."""

    vessel: str
    at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPoint:
    """A point that is not on the map; the same name is the same point."""

    name: str
    kind: PointKind


@dataclass(frozen=True, slots=True, kw_only=True)
class FarEnd:
    """Where a free end of a vessel leads."""

    signed: Signed
    vessel: str
    own_end: OwnEnd
    kind: PointKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Protected:
    """A vessel, or the stretch between two arcs, that must not be closed."""

    signed: Signed
    vessel: str
    from_mm: float | None = None
    to_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StatedCalibre:
    """A calibre by hand, in place of what the map has for the whole vessel."""

    signed: Signed
    vessel: str
    diameter_mm: float
    diameter_sd_mm: float
    relaxed_diameter_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """A vein that is not on the map."""

    signed: Signed
    new_id: str
    seen_by: SeenBy
    from_place: Place | NewPoint
    to_place: Place | NewPoint
    length_mm: float
    diameter_mm: float
    diameter_sd_mm: float
    relaxed_diameter_mm: float | None = None
    may_occlude: bool
    cost: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkMarks:
    """Where the catheter enters, how wide the smallest device is, and all that was added."""

    enters: Place
    outer_diameter_mm: float
    far_ends: tuple[FarEnd, ...] = ()
    protected: tuple[Protected, ...] = ()
    calibres: tuple[StatedCalibre, ...] = ()
    channels: tuple[Channel, ...] = ()
