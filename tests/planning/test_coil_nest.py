"""Packing against published vectors, nest length against helix geometry worked by hand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.planning import nest_length_mm, packing_percent

PRINTED_TOLERANCE = 0.005  # two decimals
NEST_TOLERANCE_MM = 0.05


@pytest.mark.parametrize(
    ("wire_mm", "length_mm", "vein_mm", "segment_mm", "percent"),
    # CLINICAL.md 4.2, worked vectors of the ratio defined by Vogler et al. 2020.
    [
        (0.4572, 300, 6, 20, 8.71),
        (0.889, 140, 8, 15, 11.53),
        (0.254, 300, 4, 20, 6.05),
    ],
)
def test_packing_equals_the_worked_vectors(
    wire_mm: float, length_mm: float, vein_mm: float, segment_mm: float, percent: float
) -> None:
    ours = packing_percent(
        wire_mm=wire_mm, length_mm=length_mm, vein_mm=vein_mm, segment_mm=segment_mm
    )
    assert ours == pytest.approx(percent, abs=PRINTED_TOLERANCE)


def test_the_length_for_a_quarter_of_the_vein_equals_the_worked_vector() -> None:
    # CLINICAL.md 4.2: 24 % of 6 mm x 20 mm takes 827 mm of 0.018 in wire.
    per_mm = packing_percent(wire_mm=0.4572, length_mm=1, vein_mm=6, segment_mm=20)
    assert round(24 / per_mm) == 827


def test_nest_equals_the_helix_worked_by_hand() -> None:
    # 8 mm coil of 0.889 mm wire, 140 mm, in 6.4 mm. Held on 6.4 - 0.889 = 5.511 mm: a turn is
    # sqrt((pi 5.511)^2 + 0.889^2) = 17.336 mm, 8.076 turns of 0.889 mm = 7.18 mm close-wound.
    # Drawn out: 140 sqrt(1 - (5.511 / 7.111)^2) = 140 x 0.6320 = 88.5 mm.
    short_mm, long_mm = nest_length_mm(
        coil_diameter_mm=8, wire_mm=0.889, length_mm=140, vein_mm=6.4
    )
    assert short_mm == pytest.approx(7.18, abs=NEST_TOLERANCE_MM)
    assert long_mm == pytest.approx(88.5, abs=NEST_TOLERANCE_MM)


def test_a_coil_narrower_than_the_vein_is_not_drawn_out() -> None:
    # 7.111 mm circle: sqrt((pi 7.111)^2 + 0.889^2) = 22.358; 140 / 22.358 x 0.889 = 5.57 mm.
    nest = nest_length_mm(coil_diameter_mm=8, wire_mm=0.889, length_mm=140, vein_mm=9)
    assert nest == pytest.approx((5.57, 5.57), abs=NEST_TOLERANCE_MM)


@pytest.mark.parametrize("vein_mm", [4.0, 6.4, 7.5])
def test_the_drawn_out_nest_is_as_long_as_a_helix_traced_point_by_point(vein_mm: float) -> None:
    # A helix of the stated climb, traced in small steps, has to use up the wire that it has.
    coil_mm, wire_mm, length_mm = 8.0, 0.889, 140.0
    _, long_mm = nest_length_mm(
        coil_diameter_mm=coil_mm, wire_mm=wire_mm, length_mm=length_mm, vein_mm=vein_mm
    )
    turns = length_mm / (math.pi * (coil_mm - wire_mm))
    angle = np.linspace(0, 2 * math.pi * turns, 200_001)
    radius_mm = (vein_mm - wire_mm) / 2
    path = np.stack(
        [
            radius_mm * np.cos(angle),
            radius_mm * np.sin(angle),
            np.linspace(0, long_mm, angle.size),
        ]
    )
    traced_mm = float(np.linalg.norm(np.diff(path, axis=1), axis=0).sum())
    assert traced_mm == pytest.approx(length_mm, rel=1e-6)


@given(
    coil_mm=st.floats(2, 20),
    vein_mm=st.floats(2, 15),
    length_mm=st.floats(10, 500),
    wire_mm=st.sampled_from([0.254, 0.4572, 0.889]),
)
def test_a_nest_is_never_longer_than_its_wire(
    coil_mm: float, vein_mm: float, length_mm: float, wire_mm: float
) -> None:
    short_mm, long_mm = nest_length_mm(
        coil_diameter_mm=coil_mm, wire_mm=wire_mm, length_mm=length_mm, vein_mm=vein_mm
    )
    assert 0 < short_mm <= long_mm <= length_mm


def test_a_wire_as_thick_as_the_vein_makes_no_loop() -> None:
    with pytest.raises(ValueError, match="makes no loop"):
        nest_length_mm(coil_diameter_mm=8, wire_mm=0.889, length_mm=140, vein_mm=0.8)
    with pytest.raises(ValueError, match="must be positive"):
        nest_length_mm(coil_diameter_mm=8, wire_mm=0.889, length_mm=0, vein_mm=6)
    with pytest.raises(ValueError, match="positive lengths"):
        packing_percent(wire_mm=0.889, length_mm=140, vein_mm=8, segment_mm=0)
