"""Points of anatomy and of the catheter, in the map's pixel grid (x, y)."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Landmark:
    """A point (x, y) in pixels, its uncertainty, and how it was found."""

    point_px: tuple[float, float]
    sd_mm: float
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Landmarks:
    """The levels a plan is bound to; null where nobody has shown them."""

    ostium: Landmark | None = None
    internal_ring: Landmark | None = None
    superior_ramus_edge: Landmark | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Catheter:
    """Where the catheter's tip lies, and the id of the vessel it lies in."""

    tip_px: tuple[float, float] | None = None
    in_vessel: str | None = None
