"""The plan: where to close the vein, with what, how sure that is, and what was assumed.

Arcs (``_mm`` along a vessel) run from the trunk's cranial end, as in the vein map. Every length is
projected on the picture: the vein itself is at least that long.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from coilwright.advice import DISCLAIMER, Advisory
from coilwright.kit import DeliveryCheck
from coilwright.veins import CalibrationMethod, DiameterMethod, Notice, Side, VesselKind


class LevelName(StrEnum):
    """Where along the vein a level lies."""

    DISTAL = "distal"
    UPPER = "upper"


class TipMove(StrEnum):
    """What brings the catheter's tip to a zone."""

    IN_ZONE = "in-zone"
    PULL_BACK = "pull-back"
    ADVANCE = "advance"


@dataclass(frozen=True, slots=True, kw_only=True)
class LandingZone:
    """The stretch of ``vessel`` kept for one nest, ``point_px`` (x, y) its middle.

    ``bony_landmark`` is null where nobody has marked one; ``described`` says the place in words.
    """

    vessel: str
    from_mm: float
    to_mm: float
    point_px: tuple[float, float]
    bony_landmark: str | None
    described: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelCalibre:
    """A calibre with its standard deviation, where it comes from, and what the sd is made of."""

    diameter_mm: float
    sd_mm: float
    where_from: str
    sd_parts_mm: dict[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mouth:
    """The mouth of a side vein or duplicate near a zone; ``gap_mm`` is 0 inside the zone."""

    vessel: str
    kind: VesselKind
    at_mm: float
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class TipDistance:
    """How far the catheter's tip is from the zone; ``sd_mm`` null if breathing is not known."""

    distance_mm: float
    sd_mm: float | None
    move: TipMove
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceChoice:
    """One coil at one level.

    ``rank`` is null for a coil that is not advised here: only what may be placed first has a rank.
    ``oversize_ratio`` is coil diameter over relaxed calibre (1.25 is 25 % over).
    ``nest_length_mm`` goes from the close-wound to the drawn-out nest; ``packing_percent`` is this
    one coil's wire over the whole landing zone, for information only.
    """

    rank: int | None
    advised: bool
    device: str
    name: str
    oversize_ratio: float
    probability_undersized: float
    probability_stretched_out: float
    may_stretch_out: bool
    nest_length_mm: tuple[float, float]
    packing_percent: float
    delivery: DeliveryCheck
    lot: str | None
    expiry: date | None
    shelf_count: int
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One level to close. ``order`` 1 is placed first: the far one, so that none bars the way.

    ``relaxed`` null means that no coil can be sized here yet, and ``choices`` is empty.
    ``first_choice`` is a device id, null where nothing in the kit can be advised first.
    """

    name: LevelName
    order: int
    zone: LandingZone
    measured: LevelCalibre | None
    relaxed: LevelCalibre | None
    mouths: tuple[Mouth, ...]
    tip: TipDistance | None
    choices: tuple[DeviceChoice, ...]
    first_choice: str | None

    def __post_init__(self) -> None:
        advised = [choice for choice in self.choices if choice.advised]
        if self.first_choice != (advised[0].device if advised else None):
            raise ValueError(f"the first choice at the {self.name} level is not the first advised")


@dataclass(frozen=True, slots=True, kw_only=True)
class SclerosantFigure:
    """The vein between the levels, as an upper sanity figure: never the dose."""

    vessel: str
    from_mm: float
    to_mm: float
    volume_ml: float
    sd_ml: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationSummary:
    """What the map's millimetres rest on; ``diameter_method`` null if no trunk was found."""

    mm_per_pixel: float
    relative_sd: float
    method: CalibrationMethod
    catheter_fr: float | None
    diameter_method: DiameterMethod | None
    text: str
    warnings: tuple[Notice, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OcclusionPlan:
    """Levels in the order of placement with everything that justifies them.

    ``least_closure`` is null until reflux pathways are computed.
    ``vein_map_calibration`` is null where no run has arrived and nothing was measured.
    """

    side: Side | None
    levels: tuple[Level, ...]
    order_rule: str
    sclerosant: SclerosantFigure | None
    least_closure: None
    advisories: tuple[Advisory, ...]
    assumptions: tuple[str, ...]
    missing: tuple[str, ...]
    vein_map_calibration: CalibrationSummary | None
    disclaimer: str = DISCLAIMER

    def level(self, name: LevelName) -> Level | None:
        """The level of this name, if the plan has one."""
        return next((level for level in self.levels if level.name is name), None)
