"""Strength of solutions."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.units import mg_per_ml_to_percent, percent_to_mg_per_ml


def test_one_per_cent_is_ten_mg_in_a_millilitre() -> None:
    # By hand: 1 g in 100 mL. CLINICAL.md 5.1 restates it.
    assert percent_to_mg_per_ml(1.0) == 10.0


def test_two_ml_of_three_per_cent_hold_sixty_mg() -> None:
    # CLINICAL.md 4.3, foam vector: 2 mL of 3 % -> 60 mg.
    assert 2.0 * percent_to_mg_per_ml(3.0) == 60.0


@given(st.floats(min_value=0.01, max_value=100.0))
def test_strength_there_and_back_is_the_same(percent: float) -> None:
    assert mg_per_ml_to_percent(percent_to_mg_per_ml(percent)) == pytest.approx(percent, rel=1e-12)
