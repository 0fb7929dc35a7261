"""What a dose or a reading can be at all: the bounds of the case file, for entries of the room too.

They catch slips of the pen (a volume below zero, an extra nought) and are no clinical limits.
"""

from coilwright.assessment import (
    ContrastGiven,
    LidocaineGiven,
    NitrateGiven,
    Observation,
    OtherAnaestheticGiven,
    RadiationGiven,
    SclerosantGiven,
    SedativeGiven,
)
from coilwright.record.case import CaseRun, Implant
from coilwright.record.given_tables import (
    AIR_KERMA_GY,
    DOSE_MG,
    FLUOROSCOPY_S,
    FRAMES,
    HEART_RATE_PER_MIN,
    INJECTED_ML,
    IODINE_MGI_PER_ML,
    KAP_GY_CM2,
    SATURATION_PERCENT,
    STRENGTH_MG_PER_ML,
    SYSTOLIC_MMHG,
)
from coilwright.record.procedure_tables import (
    CATHETER_FR,
    MM_PER_PIXEL,
    RUN_ML,
    RUN_ML_PER_S,
    TILT_DEG,
)
from coilwright.record.stated import ImpossibleFact, need_within, need_words
from coilwright.veins import Conditions as RunConditions

Bounds = dict[str, tuple[float, float]]

_INJECTION: Bounds = {"strength_mg_per_ml": STRENGTH_MG_PER_ML, "volume_ml": INJECTED_ML}
_BOUNDS: dict[type, Bounds] = {
    LidocaineGiven: _INJECTION,
    OtherAnaestheticGiven: _INJECTION,
    ContrastGiven: {
        "concentration_mgi_per_ml": IODINE_MGI_PER_ML,
        "volume_ml": INJECTED_ML,
    },
    SclerosantGiven: {
        "strength_mg_per_ml": STRENGTH_MG_PER_ML,
        "liquid_ml": INJECTED_ML,
        "gas_ml": INJECTED_ML,
        "microfoam_ml": INJECTED_ML,
    },
    SedativeGiven: {"mass_mg": DOSE_MG},
    NitrateGiven: {"mass_mg": DOSE_MG, "systolic_before_mmhg": SYSTOLIC_MMHG},
    Observation: {
        "systolic_mmhg": SYSTOLIC_MMHG,
        "heart_rate_per_min": HEART_RATE_PER_MIN,
        "oxygen_saturation_percent": SATURATION_PERCENT,
    },
    RadiationGiven: {
        "kap_gy_cm2": KAP_GY_CM2,
        "reference_air_kerma_gy": AIR_KERMA_GY,
        "fluoroscopy_min": (FLUOROSCOPY_S[0] / 60.0, FLUOROSCOPY_S[1] / 60.0),
        "frames": FRAMES,
        "frames_over_testes": FRAMES,
    },
    RunConditions: {"volume_ml": RUN_ML, "rate_ml_per_s": RUN_ML_PER_S, "tilt_deg": TILT_DEG},
    CaseRun: {"catheter_fr": CATHETER_FR, "mm_per_pixel": MM_PER_PIXEL},
}


def need_possible(fact: object) -> None:
    """Every number of a dose, a reading or a run within its bounds; other facts pass.

    Raises
    ------
    ImpossibleFact
        A number is out of its bounds or contradicts another, a coil has no level or no device.
    """
    for field, between in _BOUNDS.get(type(fact), {}).items():
        need_within(field, getattr(fact, field), between)
    if isinstance(fact, CaseRun):
        need_possible(fact.conditions)
    if isinstance(fact, Implant):
        need_words("level", fact.level)
        need_words("device", fact.device)
    if isinstance(fact, SclerosantGiven) and fact.gas_ml and fact.microfoam_ml:
        raise ImpossibleFact("gas_ml", "stated beside microfoam_ml", "ready-made foam has no gas")
    if isinstance(fact, RadiationGiven):
        _need_fewer(fact.frames_over_testes, fact.frames)


def _need_fewer(over: int | None, taken: int | None) -> None:
    if over is not None and taken is not None and over > taken:
        raise ImpossibleFact("frames_over_testes", "more than frames", "check which is which")
