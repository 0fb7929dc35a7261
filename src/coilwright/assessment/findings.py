"""What was found: by hand, by ultrasound, in semen and blood. Nothing is inferred."""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from coilwright.units import Quantity
from coilwright.veins import Side


class Position(StrEnum):
    """How the patient was placed."""

    SUPINE = "supine"
    UPRIGHT = "upright"


class PlexusLevel(StrEnum):
    """Where along the plexus, from above downwards."""

    INGUINAL = "inguinal"
    SUPRATESTICULAR = "supratesticular"
    PERITESTICULAR = "peritesticular"


@dataclass(frozen=True, slots=True, kw_only=True)
class Examination:
    """One side examined by hand and eye."""

    date: dt.date | None = None
    side: Side | None = None
    position: Position | None = None
    palpable_at_rest: bool | None = None
    palpable_on_valsalva: bool | None = None
    visible: bool | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ultrasound:
    """One side of a scrotal ultrasound: how wide the veins are, and how the blood runs back.

    ``varicocele`` is the report's own conclusion for this side. ``reflux_level`` is the lowest
    level that reflux reaches on Valsalva; ``reflux_s`` is how long it lasts there, in
    ``reflux_position``. ``plexus_sum_mm`` adds the widths of all veins of the plexus.
    """

    date: dt.date | None = None
    side: Side | None = None
    varicocele: bool | None = None
    other_side_affected: bool | None = None
    vein_supine_rest_mm: float | None = None
    vein_supine_valsalva_mm: float | None = None
    vein_upright_rest_mm: float | None = None
    vein_upright_valsalva_mm: float | None = None
    largest_vein_at: PlexusLevel | None = None
    reflux_at_rest: bool | None = None
    reflux_on_valsalva: bool | None = None
    reflux_increases_on_valsalva: bool | None = None
    reflux_level: PlexusLevel | None = None
    reflux_s: float | None = None
    reflux_position: Position | None = None
    varices: bool | None = None
    plexus_seen: bool | None = None
    plexus_sum_mm: float | None = None
    valsalva_flow_change_cm_per_s: float | None = None
    comment: str | None = None
    patient_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SemenSample:
    """One semen analysis."""

    date: dt.date | None = None
    abstinence_d: float | None = None
    volume_ml: float | None = None
    concentration_million_per_ml: float | None = None
    total_motility_percent: float | None = None
    progressive_motility_percent: float | None = None
    vitality_percent: float | None = None
    normal_forms_percent: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TestisSize:
    """One testis: three diameters, or a volume as somebody stated it."""

    __test__ = False  # not a test, whatever its name begins with

    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    stated_volume_ml: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Testes:
    """Both testes at one visit."""

    __test__ = False

    date: dt.date | None = None
    left: TestisSize | None = None
    right: TestisSize | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BloodResult:
    """A result in the unit of the laboratory, and its date."""

    value: Quantity
    date: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class InrResult:
    """An INR (a ratio, without unit) and its date."""

    value: float
    date: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bloods:
    """The results that a rule reads."""

    creatinine: BloodResult | None = None
    inr: InrResult | None = None
    platelets: BloodResult | None = None
    haemoglobin: BloodResult | None = None
