"""Dose-area product in its six units."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.units import DoseAreaUnit, dose_area_gy_cm2, dose_area_in


@pytest.mark.parametrize(
    ("value", "unit", "gy_cm2"),
    [
        (106239.0, DoseAreaUnit.MGY_CM2, 106.239),  # CLINICAL.md section 13, item 9
        (89.6, DoseAreaUnit.CGY_CM2, 0.896),  # CLINICAL.md 6.2, Bebi 2023
        (1.0, DoseAreaUnit.GY_M2, 10000.0),  # CLINICAL.md 6.5: RDSR x 10^4
        (1.0, DoseAreaUnit.DGY_CM2, 0.1),  # CLINICAL.md 6.5: (0018,115E) x 0.1
        (1.0, DoseAreaUnit.UGY_M2, 0.01),  # by hand: 1e-6 Gy x 1e4 cm2
        (21.4, DoseAreaUnit.GY_CM2, 21.4),
    ],
)
def test_dose_area_converts_from_every_unit(
    value: float, unit: DoseAreaUnit, gy_cm2: float
) -> None:
    assert dose_area_gy_cm2(value, unit) == pytest.approx(gy_cm2, rel=1e-12)


@given(st.floats(min_value=1e-6, max_value=1e6), st.sampled_from(DoseAreaUnit))
def test_dose_area_there_and_back_is_the_same(value: float, unit: DoseAreaUnit) -> None:
    assert dose_area_in(dose_area_gy_cm2(value, unit), unit) == pytest.approx(value, rel=1e-12)


def test_dose_area_refuses_a_unit_that_is_only_text() -> None:
    with pytest.raises(TypeError, match=r"a dose-area unit is a DoseAreaUnit, not 'Gy\.cm2'"):
        dose_area_gy_cm2(1.0, "Gy.cm2")  # type: ignore[arg-type]  # the mistake under test
