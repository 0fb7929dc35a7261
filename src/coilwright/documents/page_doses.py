"""What was given, item by item and against its ceilings."""

from collections.abc import Iterator, Sequence

from coilwright.advice import Advisory
from coilwright.assessment.contrast import CIGARROA_RULE, VOLUME_RULE
from coilwright.assessment.facts import (
    ContrastGiven,
    Given,
    LidocaineGiven,
    RadiationGiven,
    SclerosantGiven,
)
from coilwright.assessment.local_anaesthetic import ADRENALINE_RULE, PLAIN_RULE
from coilwright.assessment.sclerosant import (
    POLIDOCANOL_MASS_RULE,
    POLIDOCANOL_VOLUME_RULE,
    STS_RULE,
)
from coilwright.documents.figures import NOT_RECORDED, amount, plain
from coilwright.documents.page import DoseRow, Line
from coilwright.documents.page_advice import URGENCY_WORDS, Sources, stands
from coilwright.record import Case
from coilwright.units import mg_per_ml_to_percent

SCLEROSANT_RULES = (STS_RULE, POLIDOCANOL_VOLUME_RULE, POLIDOCANOL_MASS_RULE)
# The rules that set a total beside a ceiling, in the order of the table.
TOTALS = {
    PLAIN_RULE: "Lidocaine without adrenaline",
    ADRENALINE_RULE: "Lidocaine with adrenaline",
    CIGARROA_RULE: "Contrast medium, by weight and creatinine",
    VOLUME_RULE: "Contrast medium, by kidney function",
    STS_RULE: "Sodium tetradecyl sulfate",
    POLIDOCANOL_VOLUME_RULE: "Polidocanol, volume",
    POLIDOCANOL_MASS_RULE: "Polidocanol, mass",
    "radiation-kap": "Kerma-area product",
    "radiation-air-kerma": "Reference air kerma",
    "radiation-fluoroscopy-time": "Fluoroscopy time",
}
NONE_RECORDED = "none recorded"


def dose_rows(case: Case, advisories: Sequence[Advisory], sources: Sources) -> tuple[DoseRow, ...]:
    """Every total with its ceiling; a kind of lidocaine that nobody uses is left out."""
    found = [a for rule in TOTALS for a in advisories if a.rule == rule]
    return tuple(_row(case.given, a, sources) for a in found if _in_use(case, a))


def dose_notes(case: Case) -> tuple[Line, ...]:
    """What was given, dose by dose."""
    given = case.given
    return (
        Line(label="Local anaesthetic", text=_each(map(_lidocaine, given.lidocaine))),
        Line(label="Contrast medium", text=_each(map(_contrast, given.contrast))),
        Line(label="Sclerosant", text=_each(map(_sclerosant, given.sclerosant))),
        Line(label="Radiation", text=_radiation(given.radiation)),
    )


def _in_use(case: Case, advisory: Advisory) -> bool:
    if advisory.rule != ADRENALINE_RULE:
        return True
    planned = case.procedure.local_anaesthetic
    return bool(advisory.value) or (planned is not None and planned.adrenaline)


def _row(given: Given, advisory: Advisory, sources: Sources) -> DoseRow:
    return DoseRow(
        what=_what(advisory),
        given=_given(given, advisory),
        ceiling=_ceiling(advisory),
        left=_left(given, advisory),
        urgency=URGENCY_WORDS[advisory.urgency],
        rule=advisory.rule,
        footnotes=sources.numbers_of(advisory),
    )


def _what(advisory: Advisory) -> str:
    """A sclerosant's rule may speak of several forms of it: then the advisory names the form."""
    named, ceiling, _ = advisory.text.partition(": ceiling ")
    return named if ceiling and advisory.rule in SCLEROSANT_RULES else TOTALS[advisory.rule]


def _given(given: Given, advisory: Advisory) -> str:
    recorded = True
    if advisory.rule in (PLAIN_RULE, ADRENALINE_RULE):
        recorded = bool(given.lidocaine)
    elif advisory.rule in (CIGARROA_RULE, VOLUME_RULE):
        recorded = bool(given.contrast)
    elif advisory.rule in SCLEROSANT_RULES:
        recorded = bool(given.sclerosant)
    return amount(advisory.value, advisory.unit or "") if recorded else NONE_RECORDED


def _ceiling(advisory: Advisory) -> str:
    if advisory.limit is None:
        return f"not known: {NOT_RECORDED}: {', '.join(advisory.missing) or 'an input'}"
    words = amount(advisory.limit, advisory.unit or "")
    if advisory.rule.startswith("radiation"):
        words = f"{words} (level of notification)"
    return words if stands(advisory) else f"{words}, from memory, not signed off"


def _left(given: Given, advisory: Advisory) -> str:
    if advisory.limit is None or not stands(advisory):
        return "not judged"
    if advisory.rule in (PLAIN_RULE, ADRENALINE_RULE):
        with_adrenaline = advisory.rule == ADRENALINE_RULE
        if any(dose.adrenaline != with_adrenaline for dose in given.lidocaine):
            return "shared with the other kind: see Noted and Caution"
    left = advisory.limit - (advisory.value or 0.0)
    if left < 0:
        return f"OVER by {amount(-left, advisory.unit or '')}"
    return amount(left, advisory.unit or "")


def _each(doses: Iterator[str]) -> str:
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


def _contrast(dose: ContrastGiven) -> str:
    agent = f" {dose.agent}" if dose.agent else ""
    return (
        f"{plain(dose.volume_ml, 'mL')} of {plain(dose.concentration_mgi_per_ml, 'mgI/mL')}"
        f"{agent} = {amount(dose.iodine_g, 'g')} iodine{_at(dose.at)}"
    )


def _sclerosant(dose: SclerosantGiven) -> str:
    strength = plain(mg_per_ml_to_percent(dose.strength_mg_per_ml), "%")
    foam = f" foamed with {plain(dose.gas_ml, 'mL')} of gas" if dose.gas_ml else ""
    return (
        f"{plain(dose.liquid_ml, 'mL')} of {dose.drug.value.replace('-', ' ')} {strength}{foam}"
        f" = {amount(dose.mass_mg, 'mg')}{_at(dose.at)}"
    )


def _radiation(radiation: RadiationGiven | None) -> str:
    if radiation is None:
        return NOT_RECORDED
    frames = NOT_RECORDED if radiation.frames is None else f"{radiation.frames}"
    return (
        f"kerma-area product {amount(radiation.kap_gy_cm2, 'Gy.cm2')}; reference air kerma "
        f"{amount(radiation.reference_air_kerma_gy, 'Gy')}; fluoroscopy "
        f"{amount(radiation.fluoroscopy_min, 'min')}; frames stored {frames}"
    )
