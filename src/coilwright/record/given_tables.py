"""The tables of a case file that say what was given: every dose with its strength and volume.

The bounds catch slips of the pen; they are no clinical limits.
"""

from coilwright.assessment import (
    ContrastGiven,
    LidocaineGiven,
    LocalAnaesthetic,
    NitrateGiven,
    Observation,
    OtherAnaestheticGiven,
    RadiationGiven,
    SclerosantDrug,
    SclerosantGiven,
    Sedative,
    SedativeGiven,
    SkinGeometry,
)
from coilwright.record.fields import Fields
from coilwright.units import QuantityKind as Kind

STRENGTH_MG_PER_ML = (0.1, 100.0)
IODINE_MGI_PER_ML = (50.0, 500.0)
INJECTED_ML = (0.0, 1000.0)
DOSE_MG = (0.0001, 100.0)
SYSTOLIC_MMHG = (30.0, 300.0)
HEART_RATE_PER_MIN = (10.0, 300.0)
SATURATION_PERCENT = (30.0, 100.0)
KAP_GY_CM2 = (0.0, 5000.0)
AIR_KERMA_GY = (0.0, 50.0)
FLUOROSCOPY_S = (0.0, 8.0 * 3600.0)
FRAMES = (0.0, 100000.0)
SOURCE_DISTANCE_MM = (200.0, 1500.0)
SKIN_FACTOR = (0.3, 2.0)


def strength(fields: Fields) -> float:
    """The required ``strength``, in mg/mL."""
    return fields.required_measure("strength", Kind.DRUG_STRENGTH, "mg/mL", STRENGTH_MG_PER_ML)


def iodine(fields: Fields) -> float:
    """The required ``concentration`` of contrast medium, in mgI/mL."""
    return fields.required_measure(
        "concentration", Kind.IODINE_CONCENTRATION, "mgI/mL", IODINE_MGI_PER_ML
    )


def volume(fields: Fields, key: str = "volume") -> float:
    """A required volume, in mL."""
    return fields.required_measure(key, Kind.VOLUME, "mL", INJECTED_ML)


def sclerosant(fields: Fields) -> SclerosantDrug:
    """The required ``drug`` of a sclerosant."""
    return fields.required_option("drug", SclerosantDrug)


def read_lidocaine(fields: Fields) -> LidocaineGiven:
    """One of ``given.lidocaine``"""
    dose = LidocaineGiven(
        strength_mg_per_ml=strength(fields),
        volume_ml=volume(fields),
        adrenaline=fields.required_flag("adrenaline"),
        at=fields.moment("at"),
    )
    fields.done()
    return dose


def read_other_anaesthetic(fields: Fields) -> OtherAnaestheticGiven:
    """One of ``given.other_anaesthetics``: any local anaesthetic but lidocaine"""
    dose = OtherAnaestheticGiven(
        drug=fields.required_option("drug", LocalAnaesthetic),
        strength_mg_per_ml=strength(fields),
        volume_ml=volume(fields),
        adrenaline=fields.required_flag("adrenaline"),
        at=fields.moment("at"),
    )
    fields.done()
    return dose


def read_sedative(fields: Fields) -> SedativeGiven:
    """One of ``given.sedation``"""
    dose = SedativeGiven(
        drug=fields.required_option("drug", Sedative),
        mass_mg=fields.required_measure("dose", Kind.DRUG_MASS, "mg", DOSE_MG),
        at=fields.moment("at"),
    )
    fields.done()
    return dose


def read_nitrate(fields: Fields) -> NitrateGiven:
    """One of ``given.nitrate``, with the pressure measured before it"""
    dose = NitrateGiven(
        mass_mg=fields.required_measure("dose", Kind.DRUG_MASS, "mg", DOSE_MG),
        systolic_before_mmhg=fields.measure(
            "systolic_before", Kind.PRESSURE, "mmHg", SYSTOLIC_MMHG
        ),
        at=fields.moment("at"),
    )
    fields.done()
    return dose


def read_observation(fields: Fields) -> Observation:
    """One of ``given.observations``"""
    observation = Observation(
        at=fields.moment("at"),
        systolic_mmhg=fields.measure("systolic", Kind.PRESSURE, "mmHg", SYSTOLIC_MMHG),
        heart_rate_per_min=fields.measure(
            "heart_rate", Kind.HEART_RATE, "/min", HEART_RATE_PER_MIN
        ),
        oxygen_saturation_percent=fields.measure(
            "oxygen_saturation", Kind.PERCENT, "%", SATURATION_PERCENT
        ),
    )
    fields.done()
    return observation


def read_contrast(fields: Fields) -> ContrastGiven:
    """One of ``given.contrast``"""
    dose = ContrastGiven(
        concentration_mgi_per_ml=iodine(fields),
        volume_ml=volume(fields),
        agent=fields.text("agent"),
        at=fields.moment("at"),
    )
    fields.done()
    return dose


def read_sclerosant(fields: Fields) -> SclerosantGiven:
    """One of ``given.sclerosant``.

    ``volume`` is the liquid, ``gas`` what it was foamed with; ready-made foam is ``microfoam``.
    """
    dose = SclerosantGiven(
        drug=sclerosant(fields),
        strength_mg_per_ml=strength(fields),
        liquid_ml=fields.measure("volume", Kind.VOLUME, "mL", INJECTED_ML) or 0.0,
        gas_ml=fields.measure("gas", Kind.VOLUME, "mL", INJECTED_ML) or 0.0,
        microfoam_ml=fields.measure("microfoam", Kind.VOLUME, "mL", INJECTED_ML) or 0.0,
        at=fields.moment("at"),
    )
    fields.need_one_of("volume", "microfoam")
    if dose.gas_ml and dose.microfoam_ml:
        fields.note("gas", "stated beside microfoam", "ready-made foam needs no gas: leave it out")
    fields.done()
    return dose


def read_radiation(fields: Fields) -> RadiationGiven:
    """``[given.radiation]``, with ``[given.radiation.skin]`` inside"""
    radiation = RadiationGiven(
        kap_gy_cm2=fields.measure("kap", Kind.DOSE_AREA, "Gy.cm2", KAP_GY_CM2),
        reference_air_kerma_gy=fields.measure(
            "reference_air_kerma", Kind.AIR_KERMA, "Gy", AIR_KERMA_GY
        ),
        fluoroscopy_min=fields.measure("fluoroscopy_time", Kind.TIME, "min", FLUOROSCOPY_S),
        frames=fields.count("frames", FRAMES),
        frames_over_testes=fields.count("frames_over_testes", FRAMES),
        skin=_skin(fields.table("skin")),
    )
    taken, over = radiation.frames, radiation.frames_over_testes
    if taken is not None and over is not None and over > taken:
        fields.note("frames_over_testes", "more than frames", "check which is which")
    fields.done()
    return radiation


def _skin(fields: Fields) -> SkinGeometry:
    skin = SkinGeometry(
        source_to_reference_point_mm=fields.measure(
            "source_to_reference_point", Kind.LENGTH, "mm", SOURCE_DISTANCE_MM
        ),
        source_to_skin_mm=fields.measure("source_to_skin", Kind.LENGTH, "mm", SOURCE_DISTANCE_MM),
        backscatter=fields.number("backscatter", SKIN_FACTOR),
        table_transmission=fields.number("table_transmission", SKIN_FACTOR),
        tissue_factor=fields.number("tissue_factor", SKIN_FACTOR),
        calibration_factor=fields.number("calibration_factor", SKIN_FACTOR),
    )
    fields.done()
    return skin
