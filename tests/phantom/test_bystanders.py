"""Ureter, renal pelvis and old coils: against chords and speeds worked by hand."""

import numpy as np
import pytest

from coilwright.phantom.bystanders import OldCoil, RenalPelvis, Ureter
from coilwright.phantom.contrast import attenuation_per_mm
from coilwright.phantom.geometry import Cone
from coilwright.phantom.motion import REST, Pose

CONE = Cone(
    source_to_detector_mm=1000.0,
    source_to_isocentre_mm=750.0,
    imager_spacing_mm=0.4,
    rows=256,
    columns=256,
)
URETER = Ureter(
    knots_mm=((0.0, -36.0, 0.0), (0.0, -10.0, 0.0), (0.0, 10.0, 0.0), (0.0, 36.0, 0.0)),
    diameter_mm=4.0,
    mg_i_per_ml=60.0,
    bolus_mm=30.0,
    gap_mm=20.0,
    speed_mm_per_s=10.0,
)


def test_the_depth_at_the_middle_of_a_bolus_is_that_of_its_whole_width() -> None:
    # 15 mm along it the bolus of 30 mm is fullest; the chord there is the diameter of 4 mm. A cell
    # next to the middle passes a little beside it: within 1 %.
    depth = URETER.depth(CONE, REST, 0.0)
    row = round(CONE.centre_px[1] + (-36.0 + 15.0) / CONE.isocentre_mm_per_pixel)
    expected = attenuation_per_mm(60.0) * 4.0
    assert depth[row].max() == pytest.approx(expected, rel=0.01)


def test_boluses_run_down_at_their_speed_and_are_empty_between() -> None:
    arc_mm = np.arange(0.0, 72.0, 0.5)
    # By hand: after 1.5 s everything stands 15 mm further down.
    later = URETER.filling(arc_mm + 15.0, 1.5)
    assert later == pytest.approx(URETER.filling(arc_mm, 0.0))
    assert URETER.filling(np.array([35.0, 45.0]), 0.0) == pytest.approx([0.0, 0.0])


def test_the_pelvis_is_deepest_in_its_middle_and_moves_with_the_body() -> None:
    pelvis = RenalPelvis(centre_mm=(12.0, -9.0), half_mm=(10.0, 6.0), optical_depth=0.7)
    pitch_mm = CONE.isocentre_mm_per_pixel
    for shift_mm in (0.0, 3.0):
        depth = pelvis.depth(CONE, Pose(shift_mm=(0.0, shift_mm), turn_rad=0.0), 0.0)
        row, column = np.unravel_index(int(np.argmax(depth)), depth.shape)
        assert depth.max() == pytest.approx(0.7, rel=0.01)
        assert (column - CONE.centre_px[0]) * pitch_mm == pytest.approx(12.0, abs=pitch_mm)
        assert (row - CONE.centre_px[1]) * pitch_mm == pytest.approx(-9.0 + shift_mm, abs=pitch_mm)


def test_a_coil_absorbs_as_much_as_its_wire_holds_and_only_within_its_nest() -> None:
    coil = OldCoil(centre_mm=(0.0, 0.0, 0.0), nest_mm=5.0, length_mm=9.0, turns=5)
    depth = coil.depth(CONE, REST, 0.0)
    # Summed over the picture, depth times area is attenuation times the wire's volume.
    pitch_mm = CONE.isocentre_mm_per_pixel
    volume_mm3 = np.pi / 4 * coil.wire_mm**2 * float(coil.course().arc_mm[-1])
    assert depth.sum() * pitch_mm**2 == pytest.approx(coil.wire_per_mm * volume_mm3, rel=0.01)
    row, column = np.nonzero(depth)
    assert np.abs(column - CONE.centre_px[0]).max() * pitch_mm < 3.5
    assert np.abs(row - CONE.centre_px[1]).max() * pitch_mm < 8.0
