"""Per cents as numbers of people, and Wilson's interval."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from coilwright.assessment.natural_frequency import (
    natural_frequency,
    out_of,
    per_how_many,
    wilson_interval_percent,
)


@pytest.mark.parametrize(
    ("events", "of", "low", "high"),
    # CLINICAL.md section 11: 12/150 as worked on a published page; Newcombe RG, Stat Med 1998, his
    # examples 81/263, 15/148, 0/20, 1/29; 23/60; and the varicocele vectors.
    [
        (12, 150, 0.046, 0.135),
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
        (23, 60, 0.2709, 0.5098),
        (83, 85, 0.9182, 0.9935),
        (362, 386, 0.9092, 0.9579),
        (10, 263, 0.0208, 0.0686),
    ],
)
def test_wilson_interval_gives_the_vectors(events: int, of: int, low: float, high: float) -> None:
    digits = 3 if of == 150 else 4  # the page prints three, the others four
    found = wilson_interval_percent(events, of)
    assert [round(bound / 100, digits) for bound in found] == [low, high]


@given(st.integers(1, 2000).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of))))
def test_wilson_interval_agrees_with_the_library(counted: tuple[int, int]) -> None:
    # scipy.stats.binomtest(k, n).proportion_ci(method="wilson") as the reference.
    events, of = counted
    reference = binomtest(events, of).proportion_ci(confidence_level=0.95, method="wilson")
    low, high = wilson_interval_percent(events, of)
    assert low / 100 == pytest.approx(reference.low, abs=1e-9)
    assert high / 100 == pytest.approx(reference.high, abs=1e-9)


@pytest.mark.parametrize(("events", "of"), [(3, 2), (-1, 5), (0, 0)])
def test_share_that_is_none_is_refused(events: int, of: int) -> None:
    with pytest.raises(ValueError, match="is no share"):
        wilson_interval_percent(events, of)


@pytest.mark.parametrize(
    ("percent", "words"),
    # By hand from the per cents of CLINICAL.md 4.4; halves are rounded up.
    [
        (4.2, "4 of 100 men"),
        (9.1, "9 of 100 men"),
        (11.03, "11 of 100 men"),
        (8.44, "8 of 100 men"),
        (3.5, "4 of 100 men"),
        (1.78, "18 of 1000 men"),
        (0.6, "6 of 1000 men"),
        (93.8, "94 of 100 men"),
        # The edges: 2 % is still of 100, just below it of 1000; nobody is rounded to everybody.
        (2.0, "2 of 100 men"),
        (1.99, "20 of 1000 men"),
        (99.4, "99 of 100 men"),
        (99.5, "995 of 1000 men"),
        (99.6, "996 of 1000 men"),
        (0.0, "0 of 1000 men"),
    ],
)
def test_per_cent_becomes_a_number_of_people(percent: float, words: str) -> None:
    assert natural_frequency(percent) == words


@given(st.floats(0, 100))
def test_rounding_to_people_is_off_by_half_of_one_at_most(percent: float) -> None:
    whole = per_how_many(percent)
    assert abs(out_of(percent, whole) - percent * whole / 100) <= 0.5 + 1e-9
