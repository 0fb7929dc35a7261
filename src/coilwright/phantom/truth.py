"""What is true of a rendered run: the value that measurements are judged by."""

from dataclasses import dataclass
from typing import Any

from coilwright.phantom.vein import TrueJoin, VeinKind

PointPx = tuple[float, float]
Affine = tuple[tuple[float, float, float], tuple[float, float, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueNarrowing:
    """A spasm along a vein: where it is, its least calibre, and the relaxed one there."""

    from_mm: float
    to_mm: float
    narrowest_mm: float
    diameter_mm: float
    relaxed_diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueVessel:
    """A vessel where it can be seen; parallel arrays, one item per sample.

    Samples outside the open field are left out; ``leaves_frame`` says that there were some.
    ``points_px`` is (x, y) at rest. ``arc_mm`` runs in space along the vessel's own centreline
    from its first knot, ``projected_arc_mm`` is the same as the picture shows it: path in pixels
    times the scale at each sample. ``overlapped`` marks samples whose own width in the picture
    is touched by another vessel's: no separate profile is to be had there. ``plateau_depth`` is
    the optical depth through the vein's middle once it is full.
    """

    id: str
    kind: VeinKind
    joins: tuple[TrueJoin, ...]
    leaves_frame: bool
    points_px: tuple[PointPx, ...]
    arc_mm: tuple[float, ...]
    projected_arc_mm: tuple[float, ...]
    diameter_mm: tuple[float, ...]
    mm_per_pixel: tuple[float, ...]
    arrival_s: tuple[float, ...]
    plateau_depth: tuple[float, ...]
    overlapped: tuple[bool, ...]
    narrowing: TrueNarrowing | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueCatheter:
    """The catheter: centreline in the picture at rest, tip, and the vessel that the tip is in."""

    size_fr: float
    outer_mm: float
    lumen_mm: float
    points_px: tuple[PointPx, ...]
    tip_px: PointPx
    in_vessel: str
    tip_at_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueScale:
    """Millimetres per pixel: where the catheter lies in the trunk, over the trunk, by header."""

    at_catheter: float
    over_trunk: float
    at_isocentre: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueLandmarks:
    """Landmarks in the picture at rest, null where they are not in it."""

    ostium: PointPx | None
    internal_ring: PointPx | None
    superior_ramus_edge: PointPx | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """Everything known of a run.

    ``to_frame_px`` carries, for each frame, a point at rest to where the trunk's depth shows it
    in that frame (2 x 3, applied to (x, y, 1)). Vessels that are nowhere in the open field are
    left out. ``first_contrast_frame`` is the first in which contrast is anywhere, the catheter's
    lumen included: every frame before it can serve as mask. ``settings`` is the scene as plain
    data.
    """

    name: str
    frame_times_s: tuple[float, ...]
    vessels: tuple[TrueVessel, ...]
    catheter: TrueCatheter
    scale: TrueScale
    landmarks: TrueLandmarks
    to_frame_px: tuple[Affine, ...]
    first_contrast_frame: int
    settings: dict[str, Any]

    @property
    def trunk(self) -> TrueVessel:
        """The main vein."""
        return next(vessel for vessel in self.vessels if vessel.kind is VeinKind.TRUNK)
