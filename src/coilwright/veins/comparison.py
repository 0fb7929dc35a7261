"""A completion run beside the map made before: what is shut, what still fills, what is not shown.

Residual opacity is only ever a band between two words. It is for comparing two pictures of one
patient, not a result and not a reason to stop (practitioner's review, truth and safety 8).
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.advice import DISCLAIMER
from coilwright.veins.notice import Notice
from coilwright.veins.runs import Affine, Conditions
from coilwright.veins.vessels import Point


class ZoneState(StrEnum):
    """What the completion run shows of a zone."""

    SHUT = "shut"
    STILL_OPACIFIES = "still-opacifies"
    NOT_SHOWN = "not-shown"


class Band(StrEnum):
    """Opacity against before, in words; nobody has validated the bounds."""

    NONE = "none-seen"
    FAINT = "faint"
    PARTIAL = "partial"
    AS_BEFORE = "as-before"


# Upper bounds of the bands as shares of the opacity before (judgement, no source).
BAND_BOUNDS = ((0.15, Band.NONE), (0.4, Band.FAINT), (0.8, Band.PARTIAL))


def band_of(share: float) -> Band:
    """The band that a share of the opacity before falls into."""
    return next((band for bound, band in BAND_BOUNDS if share < bound), Band.AS_BEFORE)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResidualBand:
    """The opacity that is left lies between these two, two standard deviations either way."""

    lowest: Band
    highest: Band


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of a vessel of the map, arcs as on the map."""

    vessel: str
    from_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ComparedZone:
    """One landing zone, or one vessel where no plan was given.

    ``beyond`` is what still opacifies past it; ``residual`` is null where the runs cannot be
    compared or nothing was measured.
    """

    name: str
    zone: Stretch
    state: ZoneState
    text: str
    residual: ResidualBand | None
    beyond: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NewVein:
    """A line of contrast on the completion run where the map has no vessel.

    ``points_px`` (x, y) in the map's grid. ``beside`` is the part of the nearest vessel that it
    runs along and ``apart_mm`` how far from it, as projected. Calibre is the median along it, null
    where it could not be measured. ``doubt`` says why it may be no vein, null where nothing speaks
    against it.
    """

    id: str
    points_px: tuple[Point, ...]
    length_mm: float
    diameter_mm: float | None
    diameter_sd_mm: float | None
    beside: Stretch
    apart_mm: float
    doubt: str | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """What a completion run shows of the veins of a map.

    ``new_veins`` are null where they could not be looked for, empty where none was seen.
    ``to_map_px`` is null where the run could not be laid on the map. ``ostium_reached`` is whether
    contrast was seen at the ostium, null where the map has none or the run does not show it.
    """

    before_sop_instance_uid: str
    completion_sop_instance_uid: str
    to_map_px: Affine | None
    conditions_before: Conditions
    conditions_completion: Conditions
    comparable: bool
    why: str
    ostium_reached: bool | None
    zones: tuple[ComparedZone, ...]
    opacifies: tuple[Stretch, ...]
    new_veins: tuple[NewVein, ...] | None
    warnings: tuple[Notice, ...]
    disclaimer: str = DISCLAIMER
