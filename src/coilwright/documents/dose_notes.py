"""What was given, dose by dose."""

from collections.abc import Iterable

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
from coilwright.documents.figures import NOT_RECORDED, amount, plain
from coilwright.documents.page import Line
from coilwright.record import Case
from coilwright.units import mg_per_ml_to_percent

NONE_RECORDED = "none recorded"


def dose_notes(case: Case) -> tuple[Line, ...]:
    """Every dose; a kind of drug that is not of every case stands only where it was given."""
    given = case.given
    anaesthetics = [
        *map(_lidocaine, given.lidocaine),
        *map(_other_anaesthetic, given.other_anaesthetics),
    ]
    optional = {
        "Sedation": [_sedative(dose) for dose in given.sedation],
        "Nitrate for spasm": [_nitrate(dose) for dose in given.nitrate],
        "Observations": [_observation(found) for found in given.observations],
    }
    return (
        Line(label="Local anaesthetic", text=_each(anaesthetics)),
        Line(label="Contrast medium", text=_each(map(_contrast, given.contrast))),
        Line(label="Sclerosant", text=_each(map(_sclerosant, given.sclerosant))),
        *(Line(label=label, text=_each(items)) for label, items in optional.items() if items),
        Line(label="Radiation", text=_radiation(given.radiation)),
    )


def _each(doses: Iterable[str]) -> str:
    return "; ".join(doses) or NONE_RECORDED


def _at(moment: str | None) -> str:
    return f", at {moment}" if moment else ""


def _lidocaine(dose: LidocaineGiven) -> str:
    strength = plain(mg_per_ml_to_percent(dose.strength_mg_per_ml), "%")
    adrenaline = "with" if dose.adrenaline else "without"
    return (
        f"{plain(dose.volume_ml, 'mL')} of lidocaine {strength} {adrenaline} adrenaline = "
        f"{amount(dose.mass_mg, 'mg')}{_at(dose.at)}"
    )


def _other_anaesthetic(dose: OtherAnaestheticGiven) -> str:
    strength = plain(mg_per_ml_to_percent(dose.strength_mg_per_ml), "%")
    adrenaline = "with" if dose.adrenaline else "without"
    return (
        f"{plain(dose.volume_ml, 'mL')} of {dose.drug.value} {strength} {adrenaline} adrenaline = "
        f"{amount(dose.mass_mg, 'mg')}{_at(dose.at)}"
    )


def _sedative(dose: SedativeGiven) -> str:
    return f"{dose.drug.value} {plain(dose.mass_mg, 'mg')}{_at(dose.at)}"


def _nitrate(dose: NitrateGiven) -> str:
    before = amount(dose.systolic_before_mmhg, "mmHg")
    return f"{plain(dose.mass_mg, 'mg')}, systolic before {before}{_at(dose.at)}"


def _observation(found: Observation) -> str:
    return (
        f"systolic {amount(found.systolic_mmhg, 'mmHg')}, heart rate "
        f"{amount(found.heart_rate_per_min, '/min')}, saturation "
        f"{amount(found.oxygen_saturation_percent, '%')}{_at(found.at)}"
    )


def _contrast(dose: ContrastGiven) -> str:
    agent = f" {dose.agent}" if dose.agent else ""
    return (
        f"{plain(dose.volume_ml, 'mL')} of {plain(dose.concentration_mgi_per_ml, 'mgI/mL')}"
        f"{agent} = {amount(dose.iodine_g, 'g')} iodine{_at(dose.at)}"
    )


def _sclerosant(dose: SclerosantGiven) -> str:
    strength = plain(mg_per_ml_to_percent(dose.strength_mg_per_ml), "%")
    name = f"{dose.drug.value.replace('-', ' ')} {strength}"
    if dose.microfoam_ml:
        return f"{plain(dose.microfoam_ml, 'mL')} of ready-made foam of {name}{_at(dose.at)}"
    foam = f" foamed with {plain(dose.gas_ml, 'mL')} of gas" if dose.gas_ml else ""
    return (
        f"{plain(dose.liquid_ml, 'mL')} of {name}{foam} = {amount(dose.mass_mg, 'mg')}"
        f"{_at(dose.at)}"
    )


def _radiation(radiation: RadiationGiven | None) -> str:
    if radiation is None:
        return NOT_RECORDED
    frames = NOT_RECORDED if radiation.frames is None else f"{radiation.frames}"
    over = radiation.frames_over_testes
    reached = "" if over is None else f", of which {over} reached the testes"
    return (
        f"kerma-area product {amount(radiation.kap_gy_cm2, 'Gy.cm2')}; reference air kerma "
        f"{amount(radiation.reference_air_kerma_gy, 'Gy')}; fluoroscopy "
        f"{amount(radiation.fluoroscopy_min, 'min')}; frames stored {frames}{reached}"
    )
