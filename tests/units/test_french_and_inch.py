"""French sizes and inches against the sizes that wires and catheters are labelled in."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.units import fr_to_mm, inch_to_mm, mm_to_fr, mm_to_inch


@pytest.mark.parametrize(
    ("inch", "mm", "fr"),
    # CLINICAL.md section 7, second item: inch x 25.4, and the French size where it is printed.
    [
        (0.010, 0.2540, None),
        (0.014, 0.3556, None),
        (0.018, 0.4572, 1.37),
        (0.021, 0.5334, None),
        (0.025, 0.6350, None),
        (0.027, 0.6858, None),
        (0.035, 0.8890, 2.67),
        (0.038, 0.9652, 2.90),
    ],
)
def test_wires_convert_to_the_printed_digit(inch: float, mm: float, fr: float | None) -> None:
    assert round(inch_to_mm(inch), 4) == mm
    assert fr is None or round(mm_to_fr(inch_to_mm(inch)), 2) == fr


def test_five_french_is_five_thirds_of_a_millimetre() -> None:
    # CLINICAL.md 9.1: 5 F = 1.6667 mm.
    assert round(fr_to_mm(5.0), 4) == 1.6667


@given(st.floats(min_value=0.001, max_value=1000.0))
def test_there_and_back_is_the_same(value: float) -> None:
    assert mm_to_fr(fr_to_mm(value)) == pytest.approx(value, rel=1e-12)
    assert mm_to_inch(inch_to_mm(value)) == pytest.approx(value, rel=1e-12)
