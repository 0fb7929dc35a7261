"""Creatinine between its two units."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.units import creatinine_mg_per_dl, creatinine_umol_per_l


@pytest.mark.parametrize(
    ("mg_per_dl", "umol_per_l"),
    # CLINICAL.md 5.2, first column of the vector table (umol/L printed to one decimal).
    [(0.8, 70.7), (0.9, 79.6), (1.0, 88.4), (1.2, 106.1), (1.5, 132.6), (1.8, 159.1), (2.0, 176.8)],
)
def test_creatinine_converts_to_the_printed_digit(mg_per_dl: float, umol_per_l: float) -> None:
    assert round(creatinine_umol_per_l(mg_per_dl), 1) == umol_per_l


@given(st.floats(min_value=0.1, max_value=5000.0))
def test_creatinine_there_and_back_is_the_same(creatinine: float) -> None:
    there_and_back = creatinine_umol_per_l(creatinine_mg_per_dl(creatinine))
    assert there_and_back == pytest.approx(creatinine, rel=1e-12)
