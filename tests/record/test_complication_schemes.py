"""Grades of complications: which each scheme has, and how far each was verified."""

import pytest

from coilwright.advice import Status
from coilwright.record import SCHEMES, ComplicationGraded, ComplicationScheme, ImpossibleFact

# The grades as published: Filippiadis et al., CVIR 2017;40:1141-1146 (six grades); CVIR 2026;49:2-6
# (1 split into 1a and 1b, 3 into 3a and 3b); Khalilzadeh et al., JVIR 2017;28:1432-1437 (from
# memory: five); SIR 2003 (A to F, minor A and B).
PUBLISHED = [
    (ComplicationScheme.CIRSE_2017, "1 2 3 4 5 6"),
    (ComplicationScheme.CIRSE_2025, "1a 1b 2 3a 3b 4 5 6"),
    (ComplicationScheme.SIR_2017, "1 2 3 4 5"),
    (ComplicationScheme.SIR_2003, "A B C D E F"),
]


def graded(scheme: ComplicationScheme, grade: str) -> ComplicationGraded:
    return ComplicationGraded(what="thigh pain", scheme=scheme, grade=grade)


@pytest.mark.parametrize(("scheme", "grades"), PUBLISHED)
def test_a_scheme_has_its_published_grades_and_takes_no_other(
    scheme: ComplicationScheme, grades: str
) -> None:
    assert list(SCHEMES[scheme].grades) == grades.split()
    for grade in {"1", "1a", "3", "7", "A", "a", "G", ""} - set(grades.split()):
        with pytest.raises(ImpossibleFact, match=r"grade: .* has no such grade; give one of"):
            graded(scheme, grade)


def test_the_words_of_the_grades_are_those_of_the_papers() -> None:
    # CIRSE 2017, grade 2: below 48 h and no therapy; grade 3: therapy or above 48 h.
    cirse = ComplicationScheme.CIRSE_2017
    assert "below 48 h" in graded(cirse, "2").stands_for.meaning
    assert "above 48 h" in graded(cirse, "3").stands_for.meaning
    # SIR 2003: D is above 48 h (one table misprints "<48 h"), A and B are minor.
    sir = ComplicationScheme.SIR_2003
    assert "above 48 h" in graded(sir, "D").stands_for.meaning
    assert [graded(sir, grade).stands_for.meaning.split(":")[0] for grade in "ABCDE"] == [
        *["minor"] * 2,
        *["major"] * 3,
    ]
    assert graded(cirse, "6").stands_for.meaning == graded(sir, "F").stands_for.meaning == "death"


def test_what_was_not_read_is_said_to_be_from_memory() -> None:
    grades = SCHEMES[ComplicationScheme.SIR_2017].grades.values()
    assert {grade.status for grade in grades} == {Status.FROM_MEMORY}
    newer = SCHEMES[ComplicationScheme.CIRSE_2025].grades
    unread = [name for name, grade in newer.items() if grade.status is Status.FROM_MEMORY]
    assert unread == ["2", "4", "5", "6"]


def test_a_grade_alone_does_not_say_its_scheme() -> None:
    # "1" is a grade of two schemes, and of none in the third.
    first, second = (
        graded(scheme, "1").stands_for
        for scheme in (ComplicationScheme.CIRSE_2017, ComplicationScheme.SIR_2017)
    )
    assert first.meaning != second.meaning
