"""The Chiou score, its bands and the range that missing parts leave."""

import datetime as dt
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.chiou import chiou_components, chiou_says_varicocele, chiou_score
from coilwright.assessment.facts import Facts, Patient
from coilwright.assessment.findings import Ultrasound
from coilwright.protocol import load_protocol
from coilwright.veins import Side

PROTOCOL = load_protocol()


def exam(
    width_mm: float | None = None,
    seen: bool | None = None,
    sum_mm: float | None = None,
    change: float | None = None,
    lasts_s: float | None = None,
) -> Ultrasound:
    return Ultrasound(
        side=Side.LEFT,
        vein_upright_valsalva_mm=width_mm,
        plexus_seen=seen,
        plexus_sum_mm=sum_mm,
        valsalva_flow_change_cm_per_s=change,
        reflux_s=lasts_s,
    )


def one(ultrasound: Ultrasound) -> Advisory:
    base = Facts(
        on=dt.date(2026, 3, 12), patient=Patient(id="1", name="x"), ultrasound=(ultrasound,)
    )
    (advisory,) = chiou_score(base, PROTOCOL)
    return advisory


def points(ultrasound: Ultrasound, place: int) -> tuple[int, int]:
    part = chiou_components(ultrasound, PROTOCOL)[place]
    return part.fewest, part.most


# All bands: CLINICAL.md 1.2, Chiou score (World J Radiol 2017;9:34-45, table 2), read as
# continuous: what lies between 2.9 and 3 mm belongs to the lower band.
@pytest.mark.parametrize(
    ("width_mm", "expected"),
    [(2.49, 0), (2.5, 1), (2.9, 1), (2.95, 1), (3.0, 2), (3.9, 2), (3.99, 2), (4.0, 3)],
)
def test_diameter_gives_the_points_of_its_band(width_mm: float, expected: int) -> None:
    assert points(exam(width_mm=width_mm), 0) == (expected, expected)


@pytest.mark.parametrize(
    ("seen", "sum_mm", "expected"),
    [
        (False, None, (0, 0)),
        (True, 2.9, (1, 1)),
        (True, 2.99, (1, 1)),
        (True, 3.0, (2, 2)),
        (True, 5.95, (2, 2)),
        (True, 6.0, (3, 3)),
        (None, 6.0, (3, 3)),
        (True, None, (1, 3)),
        (None, None, (0, 3)),
    ],
)
def test_plexus_gives_the_points_of_its_band(
    seen: bool | None, sum_mm: float | None, expected: tuple[int, int]
) -> None:
    assert points(exam(seen=seen, sum_mm=sum_mm), 1) == expected


@pytest.mark.parametrize(
    ("change", "lasts_s", "expected"),
    [
        (1.9, 3.0, (0, 0)),
        (2.0, 3.0, (1, 1)),
        (4.95, 3.0, (1, 1)),
        (5.0, 3.0, (2, 2)),
        (9.95, 3.0, (2, 2)),
        (10.0, 3.0, (3, 3)),
        (10.0, 1.0, (3, 3)),
        # Below 1 s no points, whatever the velocity; below 2 cm/s none, whatever the duration.
        (10.0, 0.99, (0, 0)),
        (None, 0.5, (0, 0)),
        (1.9, None, (0, 0)),
        (10.0, None, (0, 3)),
        (3.0, None, (0, 1)),
        (None, 3.0, (0, 3)),
        (None, None, (0, 3)),
    ],
)
def test_flow_gives_the_points_of_its_band_unless_too_short(
    change: float | None, lasts_s: float | None, expected: tuple[int, int]
) -> None:
    assert points(exam(change=change, lasts_s=lasts_s), 2) == expected


@pytest.mark.parametrize(
    ("ultrasound", "total", "verdict"),
    # By hand: 1 + 1 + 1 = 3; 2 + 1 + 1 = 4; 3 + 3 + 3 = 9; 0 + 0 + 0 = 0. Varicocele from 4 on.
    [
        (exam(2.6, True, 2.0, 3.0, 2.0), 3, False),
        (exam(3.2, True, 2.0, 3.0, 2.0), 4, True),
        (exam(4.5, True, 7.0, 12.0, 4.0), 9, True),
        (exam(1.5, False, None, 1.0, 0.5), 0, False),
    ],
)
def test_total_and_verdict_of_a_complete_score(
    ultrasound: Ultrasound, total: int, verdict: bool
) -> None:
    advisory = one(ultrasound)
    assert (advisory.value, advisory.limit, advisory.unit) == (float(total), 4.0, "points")
    assert f"Chiou score {total} of 9; {'at or above' if verdict else 'below'} 4" in advisory.text
    assert chiou_says_varicocele(ultrasound, PROTOCOL) is verdict
    assert advisory.missing == ()
    assert advisory.status is Status.PUBLISHED


@pytest.mark.parametrize(
    ("ultrasound", "between", "verdict", "words"),
    # By hand: 3 + 1 + (0 to 3); 0 + 0 + (0 to 3); 2 + (0 to 3) + 1.
    [
        (exam(4.5, True, 2.0), (4.0, 7.0), True, "at or above 4, its line for a varicocele, what"),
        (exam(2.0, False), (0.0, 3.0), False, "below 4, its line for a varicocele, whatever is"),
        (exam(3.2, None, None, 3.0, 2.0), (3.0, 6.0), None, "open whether it reaches 4"),
    ],
)
def test_an_incomplete_score_gives_its_range_and_whether_the_verdict_is_settled(
    ultrasound: Ultrasound, between: tuple[float, float], verdict: bool | None, words: str
) -> None:
    advisory = one(ultrasound)
    assert advisory.value is None
    assert (advisory.low, advisory.high) == between
    assert words in advisory.text
    assert chiou_says_varicocele(ultrasound, PROTOCOL) is verdict
    assert advisory.missing
    assert all(key in advisory.text for key in advisory.missing)


def test_the_widest_recorded_vein_is_used_and_named() -> None:
    ultrasound = replace(exam(2.0), vein_supine_valsalva_mm=3.1)
    advisory = one(ultrasound)
    assert "The widest recorded vein is used: 3.1 mm (supine on Valsalva)." in advisory.text
    assert advisory.inputs["widest vein"] == "3.1 mm (supine on Valsalva): 2 of 3 points"


def test_no_reflux_on_valsalva_gives_no_points_for_flow() -> None:
    assert points(replace(exam(change=6.0), reflux_on_valsalva=False), 2) == (0, 0)


@pytest.mark.parametrize(
    "ultrasound",
    [
        exam(3.2, False, 4.0, 3.0, 2.0),
        exam(3.2, True, 0.0, 3.0, 2.0),
        replace(exam(3.2, True, 4.0, 3.0, 2.0), reflux_on_valsalva=False),
    ],
)
def test_contradictory_answers_leave_their_part_open(ultrasound: Ultrasound) -> None:
    advisory = one(ultrasound)
    assert advisory.urgency is Urgency.CAUTION
    assert "Contradictory:" in advisory.text
    assert advisory.value is None


maybe = st.none() | st.floats(min_value=0.0, max_value=20.0)


@given(
    st.none() | st.floats(min_value=0.1, max_value=20.0),
    st.sampled_from([None, True, False]),
    maybe,
    maybe,
    maybe,
)
def test_the_range_lies_within_0_and_9_and_filling_a_gap_never_widens_it(
    width_mm: float | None,
    seen: bool | None,
    sum_mm: float | None,
    change: float | None,
    lasts_s: float | None,
) -> None:
    known = exam(width_mm, seen, sum_mm, change, lasts_s)
    low, high = total(known)
    assert 0 <= low <= high <= 9
    for fuller in (
        known if change is not None else replace(known, valsalva_flow_change_cm_per_s=7.0),
        known if lasts_s is not None else replace(known, reflux_s=1.5),
        known if width_mm is not None else replace(known, vein_supine_rest_mm=3.3),
    ):
        fuller_low, fuller_high = total(fuller)
        assert low <= fuller_low <= fuller_high <= high


@given(st.floats(min_value=0.1, max_value=15.0), st.floats(min_value=0.0, max_value=10.0))
def test_a_wider_vein_never_lowers_the_score(width_mm: float, wider_mm: float) -> None:
    assert total(exam(width_mm + wider_mm))[0] >= total(exam(width_mm))[0]


def test_swapping_the_sides_swaps_only_the_side() -> None:
    left = one(exam(3.2, True, 4.0, 3.0, 2.0))
    right = one(replace(exam(3.2, True, 4.0, 3.0, 2.0), side=Side.RIGHT))
    assert right.text == left.text.replace("Left:", "Right:")
    assert (right.value, right.source) == (left.value, left.source)


def total(ultrasound: Ultrasound) -> tuple[int, int]:
    parts = chiou_components(ultrasound, PROTOCOL)
    return sum(part.fewest for part in parts), sum(part.most for part in parts)
