"""The clinical grade by Dubin and Amelar, from what the examining hand and eye recorded.

Grade III is visible and palpable at rest, II palpable at rest and not visible, I palpable on
Valsalva alone, 0 neither palpable nor visible. The patient is examined standing.
"""

from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.definition import Definition, unasked_of
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Examination, Position
from coilwright.assessment.latest_exam import which_exam
from coilwright.assessment.stated_side import latest_of_side
from coilwright.protocol import Citation, advise, louder
from coilwright.veins import Side

GRADE_RULE = "dubin-amelar-grade"
GRADE_UNIT = "grade"
GRADE_WORDS = ("0", "I", "II", "III")
DUBIN_AMELAR = Citation(
    source="Dubin L, Amelar RD, Fertil Steril 1970;21:606-609; definitions as restated from the "
    "EAU/ESPU guideline 2023",
    status=Status.PUBLISHED,
)

_DEFINED = (
    Definition(
        grade=0,
        asks={"palpable_at_rest": False, "palpable_on_valsalva": False, "visible": False},
    ),
    Definition(
        grade=1,
        asks={"palpable_at_rest": False, "palpable_on_valsalva": True},
        besides={"visible": False},
    ),
    Definition(
        grade=2,
        asks={"palpable_at_rest": True, "visible": False},
        besides={"palpable_on_valsalva": True},
    ),
    Definition(
        grade=3,
        asks={"palpable_at_rest": True, "visible": True},
        besides={"palpable_on_valsalva": True},
    ),
)
_IN_WORDS = (
    "neither palpable nor visible",
    "palpable on Valsalva alone",
    "palpable at rest, not visible",
    "visible and palpable at rest",
)
_READS = {
    "palpable_at_rest": "palpable at rest",
    "palpable_on_valsalva": "palpable on Valsalva",
    "visible": "visible",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeReading:
    """What the answers of one side come to.

    ``grade`` is None where they are incomplete or contradict each other (``contradiction`` says
    how); ``possible`` are the grades that fit them, ``missing`` the answers that would tell them
    apart.
    """

    exam: Examination | None = None
    grade: int | None = None
    possible: tuple[int, ...] = ()
    contradiction: str | None = None
    missing: tuple[str, ...] = ()


def dubin_amelar(facts: Facts) -> tuple[Advisory, ...]:
    """The grade of each examined side, or what is missing for it."""
    if not facts.examination:
        return (_not_examined("examination", "no examination by hand is recorded"),)
    sides = [side for side in Side if any(exam.side is side for exam in facts.examination)]
    advisories = [_of_side(facts, side) for side in sides]
    if any(exam.side is None for exam in facts.examination):
        why = "an examination without its side counts for neither"
        advisories.append(_not_examined("examination.side", why, Urgency.CAUTION))
    return tuple(advisories)


def _not_examined(key: str, why: str, urgency: Urgency = Urgency.INFO) -> Advisory:
    return advise(
        rule=GRADE_RULE,
        urgency=urgency,
        text=f"Clinical grade cannot be judged: {why}. Not recorded: {key}.",
        basis=(DUBIN_AMELAR,),
        missing=(key,),
    )


def _of_side(facts: Facts, side: Side) -> Advisory:
    reading = grade_reading(facts, side)
    position, position_urgency = _position_words(reading)
    words = (
        f"{side.value.capitalize()}: {_grade_words(reading)}",
        position,
        which_exam(facts.examination, side, "examination"),
    )
    missing = missing_keys(reading)
    if reading.exam is not None and reading.exam.position is None:
        missing = (*missing, "examination.position")
    return advise(
        rule=GRADE_RULE,
        urgency=louder(
            Urgency.INFO if reading.contradiction is None else Urgency.CAUTION, position_urgency
        ),
        text=" ".join(filter(None, words)),
        basis=(DUBIN_AMELAR,),
        value=None if reading.grade is None else float(reading.grade),
        between=_between(reading),
        unit=GRADE_UNIT if reading.grade is not None or _between(reading) else None,
        inputs=_inputs(side, reading),
        missing=missing,
    )


def _grade_words(reading: GradeReading) -> str:
    if reading.contradiction is not None:
        return (
            "no clinical grade follows, for the answers contradict each other: "
            f"{reading.contradiction}."
        )
    if reading.grade is not None:
        return (
            f"clinical grade {GRADE_WORDS[reading.grade]} by Dubin and Amelar "
            f"({_IN_WORDS[reading.grade]})."
        )
    keys = ", ".join(missing_keys(reading))
    unasked = ", ".join(_READS[name] for name in reading.missing)
    if _between(reading) is None:
        return f"clinical grade cannot be judged: {unasked} not recorded ({keys})."
    return f"clinical grade {grades_in_words(reading)}: {unasked} not recorded ({keys})."


def _between(reading: GradeReading) -> tuple[float, float] | None:
    """The range left, where the answers shut out some grades and leave several."""
    open_grades = reading.possible
    if reading.grade is not None or not 1 < len(open_grades) < len(GRADE_WORDS):
        return None
    return float(open_grades[0]), float(open_grades[-1])


def _position_words(reading: GradeReading) -> tuple[str, Urgency]:
    position = None if reading.exam is None else reading.exam.position
    if position is Position.UPRIGHT:
        return "", Urgency.INFO
    if position is None:
        return "Position not recorded; the method examines standing.", Urgency.INFO
    return (
        "Examined lying down; the method examines standing, and the veins may empty lying down: "
        "the grade standing may be higher.",
        Urgency.CAUTION,
    )


def _inputs(side: Side, reading: GradeReading) -> dict[str, str]:
    exam = reading.exam or Examination()
    return {
        "side": side.value,
        "date": "not recorded" if exam.date is None else exam.date.isoformat(),
        "position": "not recorded" if exam.position is None else exam.position.value,
        **{reads: said(getattr(exam, name)) for name, reads in _READS.items()},
    }


def missing_keys(reading: GradeReading) -> tuple[str, ...]:
    """The case-file keys of what is missing for the grade."""
    return tuple(f"examination.{name}" for name in reading.missing)


def grades_in_words(reading: GradeReading) -> str:
    """The grades that fit the answers, such as "I, II or III"."""
    *first, last = (GRADE_WORDS[grade] for grade in reading.possible)
    return f"{', '.join(first)} or {last}" if first else last


def clinical_grade(facts: Facts, side: Side) -> int | None:
    """Grade 0 to 3 of one side by Dubin and Amelar, or None where it cannot be judged."""
    return grade_reading(facts, side).grade


def palpable(facts: Facts, side: Side) -> bool | None:
    """Whether one side is palpable at rest or on Valsalva; None where it cannot be judged.

    No is said only where both questions were answered no; contradictory answers say nothing.
    """
    reading = grade_reading(facts, side)
    if reading.exam is None or reading.contradiction is not None:
        return None
    answers = (reading.exam.palpable_at_rest, reading.exam.palpable_on_valsalva)
    if True in answers:
        return True
    return None if None in answers else False


def grade_reading(facts: Facts, side: Side) -> GradeReading:
    """The grade of one side's latest examination, or why there is none."""
    readings = [_reading(exam) for exam in _that_count(facts, side)]
    if not readings:
        return GradeReading(missing=tuple(_READS))
    if len(readings) > 1 and not set.intersection(*(set(r.possible) for r in readings)):
        return GradeReading(
            exam=readings[0].exam, contradiction="examinations of the same day differ"
        )
    return next((r for r in readings if r.grade is not None), readings[0])


def _that_count(facts: Facts, side: Side) -> list[Examination]:
    """Of the latest day: the examinations standing, or else all of them."""
    latest = latest_of_side(facts.examination, side)
    if latest is None:
        return []
    same_day = [e for e in facts.examination if e.side is side and e.date == latest.date]
    standing = [exam for exam in same_day if exam.position is Position.UPRIGHT]
    return standing or same_day


def _reading(exam: Examination) -> GradeReading:
    answers = {name: getattr(exam, name) for name in _READS}
    fitting = [definition for definition in _DEFINED if definition.fits(answers)]
    met = [definition.grade for definition in fitting if definition.met(answers)]
    return GradeReading(
        exam=exam,
        grade=met[0] if met else None,
        possible=tuple(definition.grade for definition in fitting),
        contradiction=None if fitting else _contradiction(exam),
        missing=() if met else unasked_of(fitting, answers),
    )


def _contradiction(exam: Examination) -> str:
    if exam.palpable_at_rest and exam.palpable_on_valsalva is False:
        return "palpable at rest, yet not on Valsalva"
    where = "at rest" if exam.palpable_at_rest is False else "on Valsalva"
    return f"visible, yet not palpable {where}"
