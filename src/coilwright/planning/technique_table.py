"""The table that compares techniques: one row each, none of them called the best.

It holds what a person compares: closure, migration, what might be left, volume, implants, cost.
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.advice import Advisory, Status
from coilwright.planning.look_here import Stretch
from coilwright.planning.residual_reflux import BandShare, PairedOptions
from coilwright.planning.sclerosant_figure import SclerosantFigure


class Technique(StrEnum):
    """The ways of closing that a site may choose, and adhesive where the kit has it."""

    COILS_ALONE = "coils-alone"
    COILS_AND_SCLEROSANT = "coils-and-sclerosant"
    SCLEROSANT_ALONE = "sclerosant-alone"
    LIQUID_ADHESIVE = "liquid-adhesive"


@dataclass(frozen=True, slots=True, kw_only=True)
class Closure:
    """Which veins of the plan's network a technique shuts, by what rule, and what stays open.

    ``complete`` and ``open_pathways`` are null and empty where that was not worked out.
    """

    shuts: tuple[str, ...]
    rule_text: str
    complete: bool | None
    open_pathways: tuple[tuple[str, ...], ...]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Migration:
    """How likely a first choice is undersized: the worst of the levels, and any of them.

    Both null where no device is placed or a level has none. ``any_undersized`` takes the levels
    as independent; they share one scale, so it is an upper figure.
    """

    worst_undersized: float | None
    any_undersized: float | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class VolumeCeiling:
    """A ceiling of the assessment beside the volume; ``left_ml`` null where it is not known."""

    rule: str
    limit_ml: float
    left_ml: float | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Volume:
    """The upper sanity figure of what a technique fills, beside the ceilings; never the dose.

    ``needed`` is false for a technique without sclerosant. ``figure`` is null where the volume is
    not known.
    """

    needed: bool
    figure: SclerosantFigure | None
    ceilings: tuple[VolumeCeiling, ...]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Goods:
    """What a technique leaves in the vein and what it costs.

    ``implants`` counts coils and plugs, null where a level has no device; ``cost`` is in the
    department's own currency, null where any price of it is unknown.
    """

    implants: int | None
    implants_text: str
    cost: float | None
    cost_text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PublishedRecurrence:
    """What a published group had: context, no prediction for one patient."""

    percent: float
    text: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeaksAgainst:
    """A reason against a technique here; ``rule`` names the advisory it comes from, if any."""

    text: str
    rule: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TechniqueRow:
    """One technique. ``residual`` holds shares of draws by band and is empty where not worked out.

    ``residual_text`` is what people read: bands, never figures.
    """

    technique: Technique
    title: str
    chosen: bool
    closure: Closure
    migration: Migration
    residual: tuple[BandShare, ...]
    residual_text: str
    volume: Volume
    goods: Goods
    compression_needed: bool
    compression_text: str
    published: PublishedRecurrence
    against: tuple[SpeaksAgainst, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceToLook:
    """Two places between which one unseen channel would matter most, in words."""

    leaves: str
    leaves_stretch: Stretch
    rejoins: str
    rejoins_stretch: Stretch
    band: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TechniqueTable:
    """Every technique on the same draws. ``look_here`` is that of the chosen one, worst first.

    ``draws`` and ``seed`` are null where no residual reflux was worked out. ``advisories`` belong
    to the comparison and stand beside the table.
    """

    rows: tuple[TechniqueRow, ...]
    chosen: Technique
    text: str
    pairs: tuple[PairedOptions, ...]
    look_here: tuple[PlaceToLook, ...]
    draws: int | None
    seed: int | None
    advisories: tuple[Advisory, ...]

    def row(self, technique: Technique) -> TechniqueRow | None:
        """The row of this technique, if the table has one."""
        return next((row for row in self.rows if row.technique is technique), None)
