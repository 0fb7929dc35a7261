"""The head of the page: who it is, which side, what to look out for."""

from collections.abc import Sequence
from datetime import date

from coilwright.advice import Advisory, Urgency
from coilwright.assessment import Allergies
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.side_gate import side_words as named_sides
from coilwright.documents.figures import NOT_RECORDED, day, with_plus_minus
from coilwright.documents.page import PageHead
from coilwright.documents.stated_sides import agreed_sides, stated_sides
from coilwright.protocol import UNSIGNED
from coilwright.record import Case
from coilwright.veins import Side, VeinMap

# REVIEW: at most three open cautions at once.
SHOWN_CAUTIONS = 3


def page_head(case: Case, vein_map: VeinMap | None, advisories: Sequence[Advisory]) -> PageHead:
    """Who it is, with the loudest open cautions."""
    patient = case.patient
    cautions = [
        with_plus_minus(_at_a_glance(advisory))
        for urgency in (Urgency.STOP_AND_THINK, Urgency.CAUTION)
        for advisory in advisories
        if advisory.urgency is urgency
    ]
    return PageHead(
        patient_name=patient.name,
        patient_id=patient.id,
        born=day(patient.birth_date),
        age=age_words(patient.birth_date, case.procedure.date),
        sex=patient.sex.value if patient.sex else NOT_RECORDED,
        side=side_words(stated_sides(case, vein_map)),
        allergies=allergy_words(case.allergies),
        open_cautions=tuple(cautions[:SHOWN_CAUTIONS]),
        more_cautions=_more(len(cautions) - SHOWN_CAUTIONS),
    )


def age_words(birth_date: date | None, on: date | None) -> str:
    """Age on the day of the procedure; no other day stands in for it."""
    if birth_date is None:
        return NOT_RECORDED
    years = None if on is None else age_on_the_day(birth_date, on)
    return "no date of procedure to take it on" if years is None else f"{years} years"


def side_words(stated: dict[str, tuple[Side, ...]]) -> str:
    """The sides that all agree on, or who says what."""
    if not stated:
        return NOT_RECORDED
    sides = agreed_sides(stated)
    if sides:
        return named_sides(sides)
    return f"NOT AGREED: {', '.join(f'{who} {named_sides(said)}' for who, said in stated.items())}"


def allergy_words(allergies: Allergies) -> str:
    """What is known, what was denied, and what nobody has asked."""
    answers = {
        "contrast": allergies.contrast,
        "local anaesthetic": allergies.local_anaesthetic,
        "sclerosant": allergies.sclerosant,
        "metal": allergies.metal,
    }
    known = [name for name, answer in answers.items() if answer] + list(allergies.others)
    denied = [name for name, answer in answers.items() if answer is False]
    unasked = [name for name, answer in answers.items() if answer is None]
    parts = (
        f"KNOWN: {', '.join(known)}" if known else "",
        f"none to {', '.join(denied)}" if denied else "",
        f"{NOT_RECORDED}: {', '.join(unasked)}" if unasked else "",
    )
    return "; ".join(filter(None, parts))


def _at_a_glance(advisory: Advisory) -> str:
    """A stop in full; of a caution the first sentence, and that nobody has signed its limit off."""
    if advisory.urgency is Urgency.STOP_AND_THINK:
        return advisory.text
    first, _, more = advisory.text.partition(". ")
    unsigned = " Limit from memory, not signed off." if UNSIGNED in more else ""
    return f"{first.removesuffix('.')}.{unsigned}"


def _more(count: int) -> str:
    if count <= 0:
        return ""
    return "and 1 more caution below" if count == 1 else f"and {count} more cautions below"
