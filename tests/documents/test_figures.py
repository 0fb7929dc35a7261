"""What is missing is said in words; what is there keeps its unit and its doubt."""

import datetime as dt

import pytest

from coilwright.documents.figures import (
    amount,
    at_least_mm,
    calibre_mm,
    day,
    or_not_recorded,
    oversize,
)


def test_what_is_missing_never_reads_as_zero() -> None:
    said = [
        amount(None, "mL"),
        calibre_mm(None),
        at_least_mm(None),
        day(None),
        or_not_recorded(" "),
    ]
    assert said == ["not recorded", "not measured", "not measured", "not recorded", "not recorded"]


@pytest.mark.parametrize(
    ("value", "reads"),
    # By hand: three figures, no zeros added, never a power of ten, and never rounded to nothing.
    [
        (451.725, "452 mL"),
        (21.4, "21.4 mL"),
        (9.6, "9.6 mL"),
        (0.096, "0.096 mL"),
        (1234.4, "1234 mL"),
    ],
)
def test_an_amount_has_three_figures(value: float, reads: str) -> None:
    assert amount(value, "mL") == reads


@pytest.mark.parametrize(
    ("sd", "reads"),
    [(0.36, "6.0 ± 0.4 mm"), (0.04, "6.0 ± 0.04 mm"), (0.001, "6.0 ± under 0.01 mm")],
)
def test_a_small_uncertainty_never_reads_as_none(sd: float, reads: str) -> None:
    assert calibre_mm(6.0, sd) == reads


def test_oversize_is_worded_against_the_vein() -> None:
    # 8 mm in 6 mm is a third over; 5 mm in 6 mm a sixth under.
    assert [oversize(8 / 6), oversize(5 / 6), oversize(1.0)] == [
        "33 % over",
        "17 % under",
        "as wide as the vein",
    ]


def test_a_day_reads_the_same_everywhere() -> None:
    assert day(dt.date(2026, 3, 1)) == "2026-03-01"
