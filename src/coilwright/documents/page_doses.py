"""Every running total against its ceiling."""

from collections.abc import Sequence

from coilwright.advice import Advisory
from coilwright.assessment import Given, LocalAnaesthetic, Sedative
from coilwright.assessment.anaesthetic_shares import JOINT_RULE
from coilwright.assessment.contrast import CIGARROA_RULE, VOLUME_RULE
from coilwright.assessment.local_anaesthetic import ADRENALINE_RULE, PLAIN_RULE
from coilwright.assessment.sclerosant import (
    MICROFOAM_RULE,
    POLIDOCANOL_MASS_RULE,
    POLIDOCANOL_VOLUME_RULE,
    STS_RULE,
)
from coilwright.documents.dose_notes import NONE_RECORDED
from coilwright.documents.figures import NOT_RECORDED, amount
from coilwright.documents.page import DoseRow
from coilwright.documents.page_advice import URGENCY_WORDS, Sources, stands
from coilwright.record import Case

SCLEROSANT_RULES = (STS_RULE, POLIDOCANOL_VOLUME_RULE, POLIDOCANOL_MASS_RULE)
# The rules that set a total beside a ceiling, in the order of the table.
TOTALS = {
    PLAIN_RULE: "Lidocaine without adrenaline",
    ADRENALINE_RULE: "Lidocaine with adrenaline",
    **{f"{drug.value}-max": drug.value.capitalize() for drug in LocalAnaesthetic},
    JOINT_RULE: "Local anaesthetics together",
    CIGARROA_RULE: "Contrast medium, by weight and creatinine",
    VOLUME_RULE: "Contrast medium, by kidney function",
    STS_RULE: "Sodium tetradecyl sulfate",
    POLIDOCANOL_VOLUME_RULE: "Polidocanol, volume",
    POLIDOCANOL_MASS_RULE: "Polidocanol, mass",
    MICROFOAM_RULE: "Polidocanol, ready-made foam",
    **{f"sedation-{drug.value}-max": drug.value.capitalize() for drug in Sedative},
    "radiation-kap": "Kerma-area product",
    "radiation-air-kerma": "Reference air kerma",
    "radiation-fluoroscopy-time": "Fluoroscopy time",
}


def dose_rows(case: Case, advisories: Sequence[Advisory], sources: Sources) -> tuple[DoseRow, ...]:
    """Every total with its ceiling; a kind of lidocaine that nobody uses is left out."""
    found = [a for rule in TOTALS for a in advisories if a.rule == rule]
    return tuple(_row(case.given, a, sources) for a in found if _in_use(case, a))


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
        left=_left(advisory),
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


def _left(advisory: Advisory) -> str:
    if advisory.limit is None or not stands(advisory):
        return "not judged"
    unit = advisory.unit or ""
    over = (advisory.value or 0.0) - advisory.limit
    if over > 0:
        return f"OVER by {amount(over, unit)}"
    if advisory.rule.startswith("radiation"):
        return amount(-over, unit)
    return (
        "not known: see Noted and Caution" if advisory.left is None else amount(advisory.left, unit)
    )
