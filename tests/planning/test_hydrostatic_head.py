"""Pressures and flows of blood against printed values."""

import math

import numpy as np
import pytest

from coilwright.planning.hydrostatic_head import (
    Blood,
    Column,
    driving_mmhg,
    flow_ml_per_s,
    hydrostatic_mmhg,
    reynolds,
)
from coilwright.protocol import load_protocol
from planning.reflux_networks import protocol_with

THIN = Blood(viscosity_mpa_s=3.5, density_kg_per_m3=1060.0)


# CLINICAL.md section 10, hydrostatic: mmHg per cm, four digits.
@pytest.mark.parametrize(
    ("density", "printed"), [(1050.0, 0.7723), (1055.0, 0.7760), (1060.0, 0.7797)]
)
def test_a_centimetre_of_blood_presses_as_printed(density: float, printed: float) -> None:
    assert round(hydrostatic_mmhg(10.0, density), 4) == printed


def test_a_centimetre_of_water_presses_as_the_unit_says() -> None:
    # 1 cmH2O = 0.7356 mmHg (CLINICAL.md section 10), conventional water of 1000 kg/m3.
    assert round(hydrostatic_mmhg(10.0, 1000.0), 4) == 0.7356


def test_a_standing_column_of_30_to_40_cm_adds_23_to_31_mmhg() -> None:
    # CLINICAL.md section 10.
    assert [round(hydrostatic_mmhg(mm, 1050.0)) for mm in (300.0, 400.0)] == [23, 31]


def test_a_tube_flows_as_poiseuille_says() -> None:
    # CLINICAL.md section 10: r 2.5 mm, L 30 cm, 3.5 mPa s, 1 mmHg: 1.948 mL/s, 9.9 cm/s, Re 150.
    flow = flow_ml_per_s(5.0**4 / 300.0, 1.0, THIN)
    assert round(flow, 3) == 1.948
    assert round(flow / (math.pi * 0.25**2), 1) == 9.9
    assert round(reynolds(flow, 5.0, THIN)) == 150


def test_lying_flat_the_column_adds_nothing_and_half_up_half_its_length() -> None:
    # sin 0 = 0 and sin 30 degrees = 1/2; pressures of the shipped limits are 7.5 and 15 mmHg.
    def drive(tilt_deg: float) -> float:
        column = Column(length_mm=300.0, length_sd_mm=0.0, tilt_deg=tilt_deg, projected=False)
        return float(driving_mmhg(column, load_protocol(), np.zeros(1))[0])

    assert drive(0.0) == pytest.approx(-7.5, rel=1e-12)
    assert drive(30.0) == pytest.approx(-7.5 + 15 * 0.7723, abs=1e-3)


def test_the_columns_uncertainty_is_that_of_the_pressure_at_its_foot() -> None:
    # Standing, 20 mm either way is 2 * 0.7723 mmHg either way.
    column = Column(length_mm=300.0, length_sd_mm=20.0, tilt_deg=90.0, projected=False)
    protocol = protocol_with(renal_vein_pressure=0.0, plexus_pressure=0.0)
    low, high = driving_mmhg(column, protocol, np.array([-1.0, 1.0]))
    assert (high - low) / 2 == pytest.approx(2 * 0.7723, abs=1e-3)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"length_mm": 0.0}, "length must be above 0"),
        ({"length_mm": math.nan}, "length must be above 0"),
        ({"length_sd_mm": -1.0}, "must be 0 or more"),
        ({"tilt_deg": 91.0}, "tilt must be 0"),
    ],
)
def test_a_column_is_valid_once_it_exists(change: dict[str, float], sentence: str) -> None:
    given = {"length_mm": 300.0, "length_sd_mm": 10.0, "tilt_deg": 90.0} | change
    with pytest.raises(ValueError, match=sentence):
        Column(**given, projected=True)
