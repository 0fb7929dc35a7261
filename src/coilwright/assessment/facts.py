"""What is known about one patient before and during the procedure.

Every field that nobody has stated is None; nothing is inferred. Blood results keep the unit they
were reported in. The record folds its entries into these values, and the rules read only them.
"""

import datetime as dt
from dataclasses import dataclass, field
from enum import StrEnum

from coilwright.units import Quantity
from coilwright.veins import Side


class Sex(StrEnum):
    """As recorded for the equations that need it."""

    MALE = "male"
    FEMALE = "female"


class Onset(StrEnum):
    """Whether the varicocele is new or has long been there."""

    NEW = "new"
    LONGSTANDING = "longstanding"


class SclerosantDrug(StrEnum):
    """The drugs that have a ceiling in the protocol."""

    STS = "sodium-tetradecyl-sulfate"
    POLIDOCANOL = "polidocanol"


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """Who it is. ``sex`` is None where it is missing or recorded as unknown."""

    id: str
    name: str
    birth_date: dt.date | None = None
    sex: Sex | None = None
    weight_kg: float | None = None
    height_cm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Referral:
    """What the referrer wrote; the grade stays as stated."""

    side: Side | None = None
    reasons: tuple[str, ...] = ()
    grade_as_stated: str | None = None
    date: dt.date | None = None
    referrer: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ultrasound:
    """Scrotal ultrasound: the widest vein of the plexus, and how long reflux lasts."""

    date: dt.date | None = None
    side: Side | None = None
    other_side_affected: bool | None = None
    vein_supine_rest_mm: float | None = None
    vein_supine_valsalva_mm: float | None = None
    vein_upright_rest_mm: float | None = None
    vein_upright_valsalva_mm: float | None = None
    reflux_s: float | None = None
    comment: str | None = None


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Medication:
    """Drugs that bear on the procedure; None means that nobody has asked."""

    metformin: bool | None = None
    pde5_inhibitor: bool | None = None
    nitrate: bool | None = None
    anticoagulant: str | None = None
    antiplatelet: str | None = None
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergies:
    """Known allergies; None means that nobody has asked."""

    contrast: bool | None = None
    local_anaesthetic: bool | None = None
    sclerosant: bool | None = None
    metal: bool | None = None
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RenalVein:
    """Whether the gonadal vein may be the kidney's way out."""

    compression_signs: bool | None = None
    occlusion: bool | None = None
    circumaortic: bool | None = None
    retroaortic: bool | None = None
    gradient_mmhg: float | None = None
    imaging: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What else is known of the patient; None means that nobody has asked."""

    onset: Onset | None = None
    acute_pain: bool | None = None
    empties_supine: bool | None = None
    renal_vein: RenalVein = field(default_factory=RenalVein)
    acute_kidney_injury: bool | None = None
    dialysis: bool | None = None
    right_to_left_shunt: bool | None = None
    stroke_or_tia: bool | None = None
    migraine: bool | None = None
    pulmonary_hypertension: bool | None = None
    thrombosis_risk: bool | None = None
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """Where the vein is entered."""

    vein: str | None = None
    side: Side | None = None
    sheath_fr: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SideCheck:
    """A side that somebody signed or said aloud: consent, or the time-out."""

    side: Side | None = None
    date: dt.date | None = None
    by: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedAnaesthetic:
    """The lidocaine that lies ready."""

    strength_mg_per_ml: float
    adrenaline: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedContrast:
    """The contrast medium that lies ready."""

    concentration_mgi_per_ml: float
    agent: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSclerosant:
    """The sclerosant that lies ready."""

    drug: SclerosantDrug
    strength_mg_per_ml: float
    foam: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LidocaineGiven:
    """One injection of local anaesthetic."""

    strength_mg_per_ml: float
    volume_ml: float
    adrenaline: bool
    at: str | None = None

    @property
    def mass_mg(self) -> float:
        return self.strength_mg_per_ml * self.volume_ml


@dataclass(frozen=True, slots=True, kw_only=True)
class ContrastGiven:
    """One amount of contrast medium."""

    concentration_mgi_per_ml: float
    volume_ml: float
    agent: str | None = None
    at: str | None = None

    @property
    def iodine_g(self) -> float:
        return self.concentration_mgi_per_ml * self.volume_ml / 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SclerosantGiven:
    """One injection of sclerosant; ``gas_ml`` above zero makes it foam. Mass is in the liquid."""

    drug: SclerosantDrug
    strength_mg_per_ml: float
    liquid_ml: float
    gas_ml: float = 0.0
    at: str | None = None

    @property
    def mass_mg(self) -> float:
        return self.strength_mg_per_ml * self.liquid_ml

    @property
    def injected_ml(self) -> float:
        return self.liquid_ml + self.gas_ml


@dataclass(frozen=True, slots=True, kw_only=True)
class RadiationGiven:
    """What the machine shows at the end, or so far."""

    kap_gy_cm2: float | None = None
    reference_air_kerma_gy: float | None = None
    fluoroscopy_min: float | None = None
    frames: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """Everything given so far; the totals are sums of these and nothing else."""

    lidocaine: tuple[LidocaineGiven, ...] = ()
    contrast: tuple[ContrastGiven, ...] = ()
    sclerosant: tuple[SclerosantGiven, ...] = ()
    radiation: RadiationGiven | None = None

    @property
    def lidocaine_mg(self) -> float:
        return sum((dose.mass_mg for dose in self.lidocaine), 0.0)

    @property
    def contrast_ml(self) -> float:
        return sum((dose.volume_ml for dose in self.contrast), 0.0)

    @property
    def iodine_g(self) -> float:
        return sum((dose.iodine_g for dose in self.contrast), 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """All that the rules may read about one case, as it is known on the day ``on``."""

    on: dt.date
    patient: Patient
    referral: Referral = field(default_factory=Referral)
    ultrasound: Ultrasound = field(default_factory=Ultrasound)
    semen: tuple[SemenSample, ...] = ()
    testes: tuple[Testes, ...] = ()
    bloods: Bloods = field(default_factory=Bloods)
    medication: Medication = field(default_factory=Medication)
    allergies: Allergies = field(default_factory=Allergies)
    conditions: Conditions = field(default_factory=Conditions)
    access: Access = field(default_factory=Access)
    consent: SideCheck = field(default_factory=SideCheck)
    time_out: SideCheck = field(default_factory=SideCheck)
    run_sides: tuple[Side, ...] = ()
    anaesthetic: PlannedAnaesthetic | None = None
    contrast: PlannedContrast | None = None
    sclerosant: PlannedSclerosant | None = None
    given: Given = field(default_factory=Given)
