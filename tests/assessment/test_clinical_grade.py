"""The clinical grade from recorded answers, and the referrer's grade beside it."""

import datetime as dt
import itertools
from dataclasses import replace

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.clinical_grade import clinical_grade, dubin_amelar, palpable
from coilwright.assessment.facts import Facts, Patient, Referral
from coilwright.assessment.findings import Examination, Position
from coilwright.assessment.grade_as_stated import grade_as_stated, read_stated_grade
from coilwright.veins import Side

ANSWERS = (None, False, True)
DAY = dt.date(2026, 2, 3)


def exam(
    rest: bool | None = None,
    valsalva: bool | None = None,
    visible: bool | None = None,
    *,
    side: Side | None = Side.LEFT,
    position: Position | None = Position.UPRIGHT,
    date: dt.date | None = DAY,
) -> Examination:
    return Examination(
        date=date,
        side=side,
        position=position,
        palpable_at_rest=rest,
        palpable_on_valsalva=valsalva,
        visible=visible,
    )


def facts(*exams: Examination, stated: str | None = None, sides: tuple[Side, ...] = ()) -> Facts:
    return Facts(
        on=dt.date(2026, 3, 12),
        patient=Patient(id="1", name="x"),
        referral=Referral(sides=sides, grade_as_stated=stated),
        examination=exams,
    )


def one(base: Facts) -> Advisory:
    (advisory,) = dubin_amelar(base)
    return advisory


def stated(base: Facts) -> Advisory:
    (advisory,) = grade_as_stated(base)
    return advisory


@pytest.mark.parametrize(
    ("rest", "valsalva", "visible", "grade", "words"),
    # CLINICAL.md 1.1, Dubin and Amelar: 0 neither palpable nor visible, I palpable only during
    # Valsalva, II palpable at rest and not visible, III visible and palpable at rest.
    [
        (False, False, False, 0, "clinical grade 0 by"),
        (False, True, False, 1, "clinical grade I by"),
        (True, True, False, 2, "clinical grade II by"),
        (True, True, True, 3, "clinical grade III by"),
        # The definition of I does not ask for "visible", those of II and III not for Valsalva.
        (False, True, None, 1, "clinical grade I by"),
        (True, None, False, 2, "clinical grade II by"),
        (True, None, True, 3, "clinical grade III by"),
    ],
)
def test_grade_follows_from_the_definitions(
    rest: bool, valsalva: bool | None, visible: bool | None, grade: int, words: str
) -> None:
    base = facts(exam(rest, valsalva, visible))
    advisory = one(base)
    assert clinical_grade(base, Side.LEFT) == grade
    assert (advisory.value, advisory.unit) == (float(grade), "grade")
    assert words in advisory.text
    assert advisory.urgency is Urgency.INFO
    assert advisory.missing == ()


@pytest.mark.parametrize(
    ("rest", "valsalva", "visible", "how"),
    # A varicocele visible at a distance is palpable at rest, and one palpable at rest on Valsalva.
    [
        (False, True, True, "visible, yet not palpable at rest"),
        (False, None, True, "visible, yet not palpable at rest"),
        (None, False, True, "visible, yet not palpable on Valsalva"),
        (True, False, False, "palpable at rest, yet not on Valsalva"),
        (True, False, None, "palpable at rest, yet not on Valsalva"),
    ],
)
def test_contradictory_answers_give_a_caution_and_no_grade(
    rest: bool | None, valsalva: bool | None, visible: bool | None, how: str
) -> None:
    base = facts(exam(rest, valsalva, visible))
    advisory = one(base)
    assert clinical_grade(base, Side.LEFT) is None
    assert palpable(base, Side.LEFT) is None
    assert advisory.value is None
    assert advisory.urgency is Urgency.CAUTION
    assert how in advisory.text


@pytest.mark.parametrize(
    ("rest", "valsalva", "visible", "words", "between", "missing"),
    [
        (True, True, None, "grade II or III: visible not", (2.0, 3.0), ("visible",)),
        (False, None, False, "grade 0 or I: palpable on", (0.0, 1.0), ("palpable_on_valsalva",)),
        (None, True, False, "grade I or II: palpable at", (1.0, 2.0), ("palpable_at_rest",)),
        (False, False, None, "cannot be judged", None, ("visible",)),
        (None, None, True, "cannot be judged", None, ("palpable_at_rest",)),
        (
            None,
            None,
            None,
            "cannot be judged",
            None,
            ("palpable_at_rest", "palpable_on_valsalva", "visible"),
        ),
    ],
)
def test_incomplete_answers_name_what_is_missing(
    rest: bool | None,
    valsalva: bool | None,
    visible: bool | None,
    words: str,
    between: tuple[float, float] | None,
    missing: tuple[str, ...],
) -> None:
    base = facts(exam(rest, valsalva, visible))
    advisory = one(base)
    assert clinical_grade(base, Side.LEFT) is None
    assert advisory.value is None
    assert words in advisory.text
    assert advisory.missing == tuple(f"examination.{name}" for name in missing)
    assert all(key in advisory.text for key in advisory.missing)
    assert ((advisory.low, advisory.high) if advisory.unit else None) == between


def test_an_answer_nobody_asked_never_reads_as_no() -> None:
    # Law over all 27 records: an answer more may settle a grade, it never turns a settled one.
    for answers in itertools.product(ANSWERS, repeat=3):
        settled = clinical_grade(facts(exam(*answers)), Side.LEFT)
        for place in (i for i, answer in enumerate(answers) if answer is None):
            for answer in (False, True):
                fuller = (*answers[:place], answer, *answers[place + 1 :])
                after = clinical_grade(facts(exam(*fuller)), Side.LEFT)
                contradictory = "contradict" in one(facts(exam(*fuller))).text
                assert settled is None or after == settled or contradictory


@pytest.mark.parametrize(
    ("rest", "valsalva", "expected"),
    [
        (True, None, True),
        (None, True, True),
        (False, True, True),
        (False, False, False),
        (None, False, None),
        (False, None, None),
        (None, None, None),
    ],
)
def test_palpable_is_no_only_where_both_questions_were_answered_no(
    rest: bool | None, valsalva: bool | None, expected: bool | None
) -> None:
    assert palpable(facts(exam(rest, valsalva)), Side.LEFT) is expected


def test_a_side_nobody_examined_has_neither_grade_nor_palpability() -> None:
    base = facts(exam(True, True, True))
    assert clinical_grade(base, Side.RIGHT) is None
    assert palpable(base, Side.RIGHT) is None


def test_no_examination_is_said_once() -> None:
    advisory = one(facts())
    assert advisory.missing == ("examination",)
    assert advisory.urgency is Urgency.INFO


def test_an_examination_without_its_side_counts_for_neither() -> None:
    base = facts(exam(True, True, True, side=None))
    advisory = one(base)
    assert advisory.missing == ("examination.side",)
    assert advisory.urgency is Urgency.CAUTION
    assert clinical_grade(base, Side.LEFT) is clinical_grade(base, Side.RIGHT) is None


def test_an_examination_lying_down_is_pointed_out() -> None:
    # CLINICAL.md 1.1: examine standing.
    supine = one(facts(exam(False, True, False, position=Position.SUPINE)))
    assert "Examined lying down; the method examines standing" in supine.text
    assert supine.urgency is Urgency.CAUTION
    unknown = one(facts(exam(False, True, False, position=None)))
    assert "Position not recorded; the method examines standing" in unknown.text
    assert unknown.missing == ("examination.position",)


def test_standing_counts_before_lying_on_the_same_day() -> None:
    # CLINICAL.md 1.1: examine standing, then supine: the lower grade lying down is no conflict.
    lying = exam(False, True, False, position=Position.SUPINE)
    standing = exam(True, True, False)
    for pair in ((lying, standing), (standing, lying)):
        assert clinical_grade(facts(*pair), Side.LEFT) == 2


def test_two_records_of_one_day_that_differ_give_no_grade() -> None:
    base = facts(exam(True, True, False), exam(True, True, True))
    assert clinical_grade(base, Side.LEFT) is None
    assert "examinations of the same day differ" in one(base).text
    assert one(base).urgency is Urgency.CAUTION


def test_the_latest_examination_counts_and_one_without_date_is_the_oldest() -> None:
    early = exam(True, True, True, date=dt.date(2024, 1, 1))
    late = exam(False, True, False, date=dt.date(2026, 1, 1))
    undated = exam(True, True, True, date=None)
    assert clinical_grade(facts(late, early, undated), Side.LEFT) == 1
    assert "one without date counts as older" in one(facts(late, undated)).text


def test_swapping_the_sides_swaps_only_the_side() -> None:
    for answers in itertools.product(ANSWERS, repeat=3):
        left = one(facts(exam(*answers)))
        right = one(facts(exam(*answers, side=Side.RIGHT)))
        assert right.text == left.text.replace("Left", "Right")
        swapped_inputs = {**left.inputs, "side": "right"}
        assert replace(left, text=right.text, inputs=swapped_inputs) == right


def test_every_grade_has_its_source_and_status() -> None:
    for answers in itertools.product(ANSWERS, repeat=3):
        advisory = one(facts(exam(*answers)))
        assert "Dubin L, Amelar RD" in advisory.source
        assert advisory.status is Status.PUBLISHED


@pytest.mark.parametrize(
    ("words", "grade"),
    [
        ("III", 3),
        ("3", 3),
        ("grade iii", 3),
        ("Grade II", 2),
        ("grade: 2", 2),
        ("G1", 1),
        ("gr. 1", 1),
        ("Dubin-Amelar grade III", 3),
        ("grade II varicocele", 2),
        ("0", 0),
        ("Subclinical", 0),
        ("  grade \n 3 ", 3),
        ("II-III", None),
        ("grade 4", None),
        ("Sarteschi 3", None),
        ("large", None),
        ("13", None),
        ("not 3", None),
        ("", None),
    ],
)
def test_a_stated_grade_is_read_only_where_it_names_one_grade(
    words: str, grade: int | None
) -> None:
    assert read_stated_grade(words) == grade


def test_a_stated_grade_that_agrees_stands_beside_the_derived_one() -> None:
    advisory = stated(facts(exam(True, True, True), stated="grade iii", sides=(Side.LEFT,)))
    assert advisory.text == (
        "Left: the referral states grade III; the recorded examination gives the same."
    )
    assert advisory.urgency is Urgency.INFO
    assert advisory.inputs["stated by the referrer"] == "III"


def test_a_stated_grade_that_differs_is_a_caution_and_changes_nothing() -> None:
    base = facts(exam(True, True, False), stated="III", sides=(Side.LEFT,))
    advisory = stated(base)
    assert "states grade III; the recorded examination gives II." in advisory.text
    assert advisory.urgency is Urgency.CAUTION
    assert advisory.value == 2.0
    assert clinical_grade(base, Side.LEFT) == 2


def test_a_stated_grade_that_the_answers_rule_out_is_a_caution() -> None:
    advisory = stated(facts(exam(True, True, None), stated="I", sides=(Side.LEFT,)))
    assert "allow II or III only" in advisory.text
    assert advisory.urgency is Urgency.CAUTION
    assert advisory.missing == ("examination.visible",)


def test_an_incomplete_examination_cannot_confirm_a_stated_grade() -> None:
    advisory = stated(facts(exam(True, True, None), stated="III", sides=(Side.LEFT,)))
    assert "incomplete and cannot confirm it" in advisory.text
    assert advisory.urgency is Urgency.INFO


def test_an_unreadable_stated_grade_is_not_compared_and_not_printed() -> None:
    words = "huge, ask Mr Invented"
    advisory = stated(facts(exam(True, True, True), stated=words, sides=(Side.LEFT,)))
    assert "could not be compared" in advisory.text
    assert "Invented" not in repr(advisory)


def test_a_stated_grade_without_its_side_is_not_compared() -> None:
    advisory = stated(facts(exam(True, True, True), stated="II"))
    assert advisory.missing == ("referral.side",)
    assert "could not be compared" in advisory.text


def test_a_stated_grade_for_both_sides_is_compared_with_each() -> None:
    base = facts(
        exam(True, True, True),
        exam(False, True, False, side=Side.RIGHT),
        stated="III",
        sides=(Side.LEFT, Side.RIGHT),
    )
    left, right = grade_as_stated(base)
    assert (left.urgency, right.urgency) == (Urgency.INFO, Urgency.CAUTION)
    assert all("names both sides and one grade" in a.text for a in (left, right))


def test_a_stated_grade_without_examination_says_so() -> None:
    advisory = stated(facts(stated="III", sides=(Side.LEFT,)))
    assert advisory.missing == ("examination",)
    assert advisory.value is None


def test_nothing_is_said_where_the_referrer_states_no_grade() -> None:
    assert grade_as_stated(facts(exam(True, True, True), sides=(Side.LEFT,))) == ()
