"""The plan: where to close the vein, with what, how sure that is, and what was assumed.

Arcs (``_mm`` along a vessel) run from the trunk's cranial end, as in the vein map. Every length is
projected on the picture: the vein itself is at least that long.
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from coilwright.advice import DISCLAIMER, Advisory
from coilwright.kit import DeliveryCheck
from coilwright.planning.least_closure import LeastClosure
from coilwright.planning.pathways_left import PathwaysLeft
from coilwright.planning.route import RouteOption
from coilwright.planning.sclerosant_figure import SclerosantFigure
from coilwright.planning.stop_rules import StopRules
from coilwright.planning.technique_table import TechniqueTable
from coilwright.veins import CalibrationMethod, DiameterMethod, Notice, Side, VesselKind


class LevelName(StrEnum):
    """Where along the vein a level lies."""

    DISTAL = "distal"
    MIDDLE = "middle"
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
    ``sharpest_turn_deg`` is how far the vein turns within 20 mm, as projected, at the sharpest
    place of the zone; null where too little of it was seen.
    """

    vessel: str
    from_mm: float
    to_mm: float
    point_px: tuple[float, float]
    bony_landmark: str | None
    described: str
    sharpest_turn_deg: float | None = None


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
class NestMouth:
    """A mouth that a nest would span once it is ``nest_from_mm`` long, from the zone's lower end.

    ``when_packed``: already with all coils close-wound; else only where one is drawn out.
    """

    vessel: str
    at_mm: float
    nest_from_mm: float
    when_packed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceChoice:
    """One coil at one level.

    ``rank`` is null for a coil that is not advised here: only what may be placed first has a rank.
    ``oversize_ratio`` is coil diameter over relaxed calibre (1.25 is 25 % over).
    ``nest_length_mm`` goes from the close-wound to the drawn-out nest; ``packing_percent`` is this
    one coil's wire over the whole landing zone, for information only. ``number`` is how many to
    have at hand at least for the level and ``number_to_fill_zone`` how many fill it close-wound
    (``number_text`` says how they were counted); ``cost`` is number times ``price`` in the
    department's own currency, null where no price is stated.
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
    number: int | None = None
    number_to_fill_zone: int | None = None
    number_text: str = ""
    spans: tuple[NestMouth, ...] = ()
    price: float | None = None
    cost: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlugChoice:
    """One plug at one level, ranked beside the coils by its own oversize.

    ``rank`` and ``oversize_ratio`` as of a coil; ``length_mm`` is the label's, null where it is
    silent. ``above_oversize``: wider than the local limits, so that it lies longer than labelled.
    One plug is counted for the level; ``cost`` is null where no price is stated.
    """

    rank: int | None
    advised: bool
    device: str
    name: str
    oversize_ratio: float
    probability_undersized: float
    above_oversize: bool
    length_mm: float | None
    delivery: DeliveryCheck
    lot: str | None
    expiry: date | None
    shelf_count: int
    why: str
    number: int
    price: float | None
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class IfRelaxed:
    """The level if the vein turns out ``relaxes_by_mm`` wider than its relaxed calibre, as sure.

    ``first_choice`` then (null: nothing of the kit can be advised), its chance of being undersized
    there, and that of the coil that is the first choice today (null where there is none).
    """

    relaxes_by_mm: float
    diameter_mm: float
    first_choice: str | None
    probability_undersized: float | None
    todays_probability_undersized: float | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """One level to close. ``order`` 1 is placed first: the far one, so that none bars the way.

    ``relaxed`` null means that no coil can be sized here yet, and ``choices`` is empty.
    ``first_choice`` is a coil's id, null where no coil of the kit can be advised first; ``plugs``
    stand beside the coils. ``if_relaxes`` is what changes if the vein relaxes further; ``why``
    says in words what the level is for.
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
    plugs: tuple[PlugChoice, ...] = ()
    if_relaxes: tuple[IfRelaxed, ...] = ()
    why: str = ""

    def __post_init__(self) -> None:
        advised = [choice for choice in self.choices if choice.advised]
        if self.first_choice != (advised[0].device if advised else None):
            raise ValueError(f"the first choice at the {self.name} level is not the first advised")


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

    ``least_closure`` is that of the map's network before any level: the least, not the plan. It
    and ``pathways_left`` are null where the map does not allow a network, and an advisory says
    why. ``techniques`` compares ways of closing; null without a trunk.
    ``vein_map_calibration`` is null where no run has arrived and nothing was measured.
    """

    side: Side | None
    levels: tuple[Level, ...]
    order_rule: str
    sclerosant: SclerosantFigure | None
    least_closure: LeastClosure | None
    advisories: tuple[Advisory, ...]
    assumptions: tuple[str, ...]
    missing: tuple[str, ...]
    vein_map_calibration: CalibrationSummary | None
    routes: tuple[RouteOption, ...] = ()
    stop_rules: StopRules | None = None
    pathways_left: PathwaysLeft | None = None
    techniques: TechniqueTable | None = None
    disclaimer: str = DISCLAIMER

    def level(self, name: LevelName) -> Level | None:
        """The level of this name, if the plan has one."""
        return next((level for level in self.levels if level.name is name), None)
