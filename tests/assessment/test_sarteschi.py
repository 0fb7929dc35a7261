"""The Sarteschi grade from recorded answers."""

import datetime as dt
import itertools
from dataclasses import replace

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts, Patient
from coilwright.assessment.findings import PlexusLevel, Ultrasound
from coilwright.assessment.sarteschi import sarteschi, sarteschi_reading
from coilwright.veins import Side

INGUINAL, SUPRA, PERI = PlexusLevel
ANSWERS = (None, False, True)


def exam(
    at_rest: bool | None = None,
    on_valsalva: bool | None = None,
    increases: bool | None = None,
    level: PlexusLevel | None = None,
    varices: bool | None = None,
) -> Ultrasound:
    return Ultrasound(
        side=Side.LEFT,
        reflux_at_rest=at_rest,
        reflux_on_valsalva=on_valsalva,
        reflux_increases_on_valsalva=increases,
        reflux_level=level,
        varices=varices,
    )


def one(ultrasound: Ultrasound) -> Advisory:
    base = Facts(
        on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"), ultrasound=(ultrasound,)
    )
    (advisory,) = sarteschi(base)
    return advisory


def every_exam() -> list[Ultrasound]:
    levels = (None, *PlexusLevel)
    return [exam(*row) for row in itertools.product(ANSWERS, ANSWERS, ANSWERS, levels, ANSWERS)]


@pytest.mark.parametrize(
    ("ultrasound", "grade"),
    # CLINICAL.md 1.2, Sarteschi as restated in World J Radiol 2017;9:34-45, table 1.
    [
        (exam(False, True, None, INGUINAL, False), 1),
        (exam(False, True, None, SUPRA, False), 2),
        (exam(False, True, None, SUPRA, None), 2),
        (exam(False, True, None, PERI, True), 3),
        (exam(True, True, True, PERI, True), 4),
        (exam(True, None, True), 4),
        (exam(True, True, False, PERI, True), 5),
        (exam(True, None, False), 5),
    ],
)
def test_grade_follows_from_the_definitions(ultrasound: Ultrasound, grade: int) -> None:
    advisory = one(ultrasound)
    assert (advisory.value, advisory.unit) == (float(grade), "grade")
    assert f"Sarteschi grade {grade} (" in advisory.text
    assert advisory.urgency is Urgency.INFO
    assert advisory.missing == ()
    assert advisory.status is Status.PUBLISHED


def test_no_reflux_has_no_grade() -> None:
    advisory = one(exam(False, False))
    assert advisory.value is None
    assert "no reflux at rest or on Valsalva: no Sarteschi grade applies" in advisory.text
    assert advisory.missing == ()


@pytest.mark.parametrize(
    "ultrasound",
    [
        exam(True, False),
        exam(True, False, True),
        exam(False, False, None, PERI),
        exam(False, False, True),
        # Grade 1 is without varices, grade 3 with overt ones (CLINICAL.md 1.2).
        exam(False, True, None, INGUINAL, True),
        exam(False, True, None, PERI, False),
    ],
)
def test_answers_that_fit_no_definition_are_a_caution_without_grade(ultrasound: Ultrasound) -> None:
    advisory = one(ultrasound)
    assert advisory.value is None
    assert advisory.urgency is Urgency.CAUTION
    assert "contradict each other, or fit no definition" in advisory.text


@pytest.mark.parametrize(
    ("ultrasound", "words", "between", "missing"),
    [
        (
            exam(True, True),
            "Sarteschi grade 4 or grade 5",
            (4.0, 5.0),
            ("reflux_increases_on_valsalva",),
        ),
        (
            exam(False, True),
            "grade 1, grade 2 or grade 3",
            (1.0, 3.0),
            ("reflux_level", "varices"),
        ),
        (
            exam(False, True, None, PERI),
            "cannot be judged: varices not recorded (ultrasound.varices). Grade 3 alone would fit",
            None,
            ("varices",),
        ),
        (exam(False), "no grade, grade 1, grade 2 or grade 3", None, None),
        (exam(), "cannot be judged", None, None),
    ],
)
def test_incomplete_answers_name_what_is_missing(
    ultrasound: Ultrasound,
    words: str,
    between: tuple[float, float] | None,
    missing: tuple[str, ...] | None,
) -> None:
    advisory = one(ultrasound)
    assert words in advisory.text
    assert advisory.value is None
    assert ((advisory.low, advisory.high) if advisory.unit else None) == between
    assert advisory.missing
    assert all(key in advisory.text for key in advisory.missing)
    if missing is not None:
        assert advisory.missing == tuple(f"ultrasound.{name}" for name in missing)


def test_varices_that_the_table_does_not_describe_are_worth_checking() -> None:
    # World J Radiol 2017;9:34-45, table 1: grade 2 without, grades 4 and 5 with varicosities.
    for ultrasound in (exam(False, True, None, SUPRA, True), exam(True, True, True, PERI, False)):
        advisory = one(ultrasound)
        assert advisory.value is not None
        assert advisory.urgency is Urgency.CAUTION
        assert "worth checking" in advisory.text


def test_every_record_has_a_grade_or_says_why_not() -> None:
    # All 3 x 3 x 3 x 4 x 3 records: a grade, no reflux, something missing, or a contradiction.
    for ultrasound in every_exam():
        reading = sarteschi_reading(ultrasound)
        assert (reading.grade is None) == bool(reading.missing or not reading.possible)
        assert reading.grade is None or reading.grade in reading.possible


def test_reflux_at_rest_gives_4_or_5_and_none_at_rest_at_most_3() -> None:
    for ultrasound in every_exam():
        grade = sarteschi_reading(ultrasound).grade
        if grade is not None:
            assert (grade >= 4) == (ultrasound.reflux_at_rest is True)


def test_swapping_the_sides_swaps_only_the_side() -> None:
    for ultrasound in every_exam():
        left, right = one(ultrasound), one(replace(ultrasound, side=Side.RIGHT))
        expected = replace(
            left,
            text=left.text.replace("Left:", "Right:"),
            inputs={**left.inputs, "side": "right"},
        )
        assert right == expected
