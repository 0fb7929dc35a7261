"""The referrer's own grade, beside the one that follows from the recorded examination.

It is read for the comparison alone and changes nothing else.
"""

import re

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.clinical_grade import (
    DUBIN_AMELAR,
    GRADE_UNIT,
    GRADE_WORDS,
    GradeReading,
    grade_reading,
    grades_in_words,
    missing_keys,
)
from coilwright.assessment.facts import Facts
from coilwright.protocol import advise
from coilwright.veins import Side

STATED_RULE = "grade-as-stated"
_STATED = re.compile(
    r"(?:dubin(?:-| and | & | )amelar )?"
    r"(?:(?:clinical )?(?:grade|gr\.?|g):? ?)?"
    r"(?P<grade>iii|ii|i|[0-3]|subclinical)"
    r"(?: varicocele)?\.?"
)
_GRADES = {
    **{word.lower(): grade for grade, word in enumerate(GRADE_WORDS)},
    **{str(grade): grade for grade in range(len(GRADE_WORDS))},
    "subclinical": 0,
}


def read_stated_grade(words: str) -> int | None:
    """The grade 0 to 3 that a referrer's words name alone; None where they cannot be read so.

    Examples
    --------
    >>> read_stated_grade("grade iii"), read_stated_grade("2"), read_stated_grade("II-III")
    (3, 2, None)
    """
    found = _STATED.fullmatch(" ".join(words.lower().split()))
    return None if found is None else _GRADES[found["grade"]]


def grade_as_stated(facts: Facts) -> tuple[Advisory, ...]:
    """The stated grade beside the derived one; nothing where the referrer states none."""
    words = facts.referral.grade_as_stated
    if words is None:
        return ()
    stated = read_stated_grade(words)
    if stated is None:
        return (
            _alone(
                "The referral states a grade that cannot be read as one of 0, I, II or III: it "
                "could not be compared with the examination.",
                missing=(),
            ),
        )
    if not facts.referral.sides:
        return (
            _alone(
                f"The referral states grade {GRADE_WORDS[stated]} and no side: it could not be "
                "compared with the examination. Not recorded: referral.side.",
                missing=("referral.side",),
            ),
        )
    return tuple(_compared(facts, side, stated) for side in facts.referral.sides)


def _alone(text: str, *, missing: tuple[str, ...]) -> Advisory:
    return advise(
        rule=STATED_RULE,
        urgency=Urgency.INFO,
        text=text,
        basis=(DUBIN_AMELAR,),
        missing=missing,
    )


def _compared(facts: Facts, side: Side, stated: int) -> Advisory:
    reading = grade_reading(facts, side)
    words, urgency = _verdict(reading, stated)
    both = "The referral names both sides and one grade. " if len(facts.referral.sides) > 1 else ""
    missing = ("examination",) if reading.exam is None else missing_keys(reading)
    derived = None if reading.grade is None else float(reading.grade)
    return advise(
        rule=STATED_RULE,
        urgency=urgency,
        text=f"{side.value.capitalize()}: the referral states grade {GRADE_WORDS[stated]}; {words} "
        f"{both}".strip(),
        basis=(DUBIN_AMELAR,),
        value=derived,
        unit=None if derived is None else GRADE_UNIT,
        inputs={
            "side": side.value,
            "stated by the referrer": GRADE_WORDS[stated],
            "from the examination": "none" if reading.grade is None else GRADE_WORDS[reading.grade],
        },
        missing=missing,
    )


def _verdict(reading: GradeReading, stated: int) -> tuple[str, Urgency]:
    if reading.exam is None:
        return "no examination of this side is recorded to compare it with.", Urgency.INFO
    if reading.contradiction is not None:
        return "the recorded examination gives none to compare it with.", Urgency.INFO
    if reading.grade == stated:
        return "the recorded examination gives the same.", Urgency.INFO
    if reading.grade is not None:
        return f"the recorded examination gives {GRADE_WORDS[reading.grade]}.", Urgency.CAUTION
    if stated not in reading.possible:
        return f"the recorded answers allow {grades_in_words(reading)} only.", Urgency.CAUTION
    return "the recorded examination is incomplete and cannot confirm it.", Urgency.INFO
