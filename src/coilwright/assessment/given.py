"""The drugs that lie ready, and everything given so far; totals are sums of these alone."""

from dataclasses import dataclass, field
from enum import StrEnum


class SclerosantDrug(StrEnum):
    """The drugs that have a ceiling in the protocol."""

    STS = "sodium-tetradecyl-sulfate"
    POLIDOCANOL = "polidocanol"


class LocalAnaesthetic(StrEnum):
    """Local anaesthetics other than lidocaine that have a ceiling in the protocol."""

    BUPIVACAINE = "bupivacaine"
    LEVOBUPIVACAINE = "levobupivacaine"
    MEPIVACAINE = "mepivacaine"
    PRILOCAINE = "prilocaine"
    ROPIVACAINE = "ropivacaine"


class Sedative(StrEnum):
    """Sedatives that have a ceiling in the protocol."""

    FENTANYL = "fentanyl"
    MIDAZOLAM = "midazolam"


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
    gas_per_liquid: float | None = None


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
class OtherAnaestheticGiven:
    """One injection of a local anaesthetic other than lidocaine."""

    drug: LocalAnaesthetic
    strength_mg_per_ml: float
    volume_ml: float
    adrenaline: bool
    at: str | None = None

    @property
    def mass_mg(self) -> float:
        return self.strength_mg_per_ml * self.volume_ml


@dataclass(frozen=True, slots=True, kw_only=True)
class SedativeGiven:
    """One dose of a sedative."""

    drug: Sedative
    mass_mg: float
    at: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NitrateGiven:
    """One dose of nitrate for spasm, and the systolic pressure measured before it."""

    mass_mg: float
    systolic_before_mmhg: float | None = None
    at: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Observation:
    """What was read off the monitor at one time."""

    at: str | None = None
    systolic_mmhg: float | None = None
    heart_rate_per_min: float | None = None
    oxygen_saturation_percent: float | None = None


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
    """One injection of sclerosant.

    ``gas_ml`` above zero makes the liquid foam; the mass is in the liquid. ``microfoam_ml`` is foam
    that came ready made from its canister: ``strength_mg_per_ml`` is then of the liquid that the
    canister foams, and the mass in the foam is not known from it.
    """

    drug: SclerosantDrug
    strength_mg_per_ml: float
    liquid_ml: float
    gas_ml: float = 0.0
    microfoam_ml: float = 0.0
    at: str | None = None

    @property
    def mass_mg(self) -> float:
        return self.strength_mg_per_ml * self.liquid_ml

    @property
    def injected_ml(self) -> float:
        return self.liquid_ml + self.gas_ml + self.microfoam_ml


@dataclass(frozen=True, slots=True, kw_only=True)
class SkinGeometry:
    """What an estimate of skin dose needs besides the air kerma; factors left out are the site's.

    Both distances are from the X-ray source. ``calibration_factor`` turns the displayed air kerma
    into the true one.
    """

    source_to_reference_point_mm: float | None = None
    source_to_skin_mm: float | None = None
    backscatter: float | None = None
    table_transmission: float | None = None
    tissue_factor: float | None = None
    calibration_factor: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RadiationGiven:
    """What the machine shows at the end, or so far.

    ``frames_over_testes`` counts the frames whose field reached them.
    """

    kap_gy_cm2: float | None = None
    reference_air_kerma_gy: float | None = None
    fluoroscopy_min: float | None = None
    frames: int | None = None
    frames_over_testes: int | None = None
    skin: SkinGeometry = field(default_factory=SkinGeometry)


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """Everything given so far; the totals are sums of these and nothing else."""

    lidocaine: tuple[LidocaineGiven, ...] = ()
    other_anaesthetics: tuple[OtherAnaestheticGiven, ...] = ()
    contrast: tuple[ContrastGiven, ...] = ()
    sclerosant: tuple[SclerosantGiven, ...] = ()
    sedation: tuple[SedativeGiven, ...] = ()
    nitrate: tuple[NitrateGiven, ...] = ()
    observations: tuple[Observation, ...] = ()
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
