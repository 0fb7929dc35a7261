"""One measured acquisition, and the conditions it was injected under."""

from dataclasses import dataclass, field

Affine = tuple[tuple[float, float, float], tuple[float, float, float]]
IDENTITY: Affine = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """How the injection was made; null where nobody has said."""

    tip_site: str | None = None
    volume_ml: float | None = None
    rate_ml_per_s: float | None = None
    valsalva: bool | None = None
    tilt_deg: float | None = None
    breath_phase: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """The contrast front along the trunk, away from the catheter's tip.

    ``down`` is towards the ring, ``up`` towards the ostium; null where too little of the trunk
    lies that way, or the front passed between two frames. Lengths are projected, so speeds are
    lower bounds. ``reached_mm`` is the farthest arc of the trunk that opacified.
    """

    tip_at_mm: float
    down_mm_per_s: float | None
    down_sd_mm_per_s: float | None
    up_mm_per_s: float | None
    up_sd_mm_per_s: float | None
    reached_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunPlace:
    """Where table and tube stood, and the bones by which another run finds the place again.

    ``bones_png`` is a small grey picture of what stood there before contrast, as PNG in base64:
    one of its pixels is ``bones_px`` pixels of the run's frames; black where the field was shut.
    ``plane`` is A or B of a biplane system. Everything is null where the run does not say or show
    it.
    """

    primary_angle_deg: float | None = None
    secondary_angle_deg: float | None = None
    table_longitudinal_mm: float | None = None
    table_lateral_mm: float | None = None
    isocentre_mm_per_pixel: float | None = None
    bones_png: str | None = None
    bones_px: float | None = None
    plane: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRun:
    """One run: its identity, its frames, and its place in the map's grid.

    ``frame_times_s`` has one item per frame from the first (0 s), null items where the header
    does not say. ``to_map_px`` is a 2 x 3 transform of (x, y, 1) into the map's grid.
    """

    sop_instance_uid: str
    rows: int
    columns: int
    frames: int
    frame_times_s: tuple[float, ...] | None
    mask_frames: tuple[int, ...]
    reference_frame: int
    to_map_px: Affine = IDENTITY
    conditions: Conditions = field(default_factory=Conditions)
    front: Front | None = None
    study_instance_uid: str | None = None
    place: RunPlace | None = None
