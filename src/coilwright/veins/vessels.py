"""A measured vessel: its centreline, its calibre with uncertainty, and where it joins."""

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[float, float]


class VesselKind(StrEnum):
    """What a vessel is in the tree."""

    TRUNK = "trunk"
    SIDE_VEIN = "side-vein"
    DUPLICATE = "duplicate"
    TANGLE = "tangle"


class DiameterMethod(StrEnum):
    """How the calibre was measured."""

    PROFILE = "profile"
    EDGE_WIDTH = "edge-width"
    GIVEN = "given"


class OwnEnd(StrEnum):
    """Which end of a vessel a join is at."""

    START = "start"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Join:
    """One end of a vessel meets ``vessel`` at ``at_mm`` along that vessel."""

    own_end: OwnEnd
    vessel: str
    at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Narrowing:
    """A stretch narrower than the vein's own course; relaxed calibre null where unknown."""

    from_mm: float
    to_mm: float
    relaxed_diameter_mm: float | None
    relaxed_sd_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Vessel:
    """A vessel sampled at most 0.6 mm apart; parallel arrays, one item per sample.

    ``points_px`` is (x, y) in the map's grid. ``arc_mm`` runs from the cranial end of the trunk,
    of others from their parent. ``diameter_mm`` items are null where nothing could be fitted.
    ``diameter_sd_mm`` holds fit and scale in the catheter's plane; ``depth_relative_sd`` is the
    further uncertainty of scale because the vein lies at another depth. ``opacity`` is the
    contrast along the ray relative to the trunk's own plateau; ``arrival_s`` the time from the
    first frame.
    """

    id: str
    kind: VesselKind
    runs: tuple[int, ...]
    joins: tuple[Join, ...]
    diameter_method: DiameterMethod
    points_px: tuple[Point, ...]
    arc_mm: tuple[float, ...]
    diameter_mm: tuple[float | None, ...]
    diameter_sd_mm: tuple[float | None, ...]
    depth_relative_sd: tuple[float | None, ...]
    opacity: tuple[float | None, ...]
    arrival_s: tuple[float | None, ...]
    narrowings: tuple[Narrowing, ...] = ()
    leaves_frame: bool = False

    def __post_init__(self) -> None:
        lengths = {
            len(items)
            for items in (
                self.points_px,
                self.arc_mm,
                self.diameter_mm,
                self.diameter_sd_mm,
                self.depth_relative_sd,
                self.opacity,
                self.arrival_s,
            )
        }
        if len(lengths) != 1 or lengths == {0}:
            raise ValueError(f"vessel {self.id}: parallel arrays of lengths {sorted(lengths)}")

    @property
    def length_mm(self) -> float:
        """Projected length in millimetres: a lower bound of the true length."""
        return self.arc_mm[-1] - self.arc_mm[0]
