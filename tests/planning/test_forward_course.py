"""The vein comes forward: which way, by how much, and when nobody knows."""

from dataclasses import replace

import numpy as np
import pytest

from coilwright.phantom.geometry import Cone
from coilwright.planning.forward_course import (
    NO_MARKS,
    RAMUS,
    RING,
    CarriedScale,
    UnknownDepth,
    carried_scale,
)
from coilwright.planning.level_calibre import calibre_of_zone
from coilwright.protocol import load_protocol
from coilwright.veins import CalibrationMethod, Narrowing, RunPlace, VeinMap, Vessel
from planning.straight_trunks import mark_at, straight_vessel, vein_map_of

PROTOCOL = load_protocol()
FROM_BACK_TO_FRONT = RunPlace(primary_angle_deg=0.0, secondary_angle_deg=0.0)
# Ostium at 0 and tip at 40 mm: the shaft's middle in the vein lies at 20 mm.
TIP_MM, SHAFT_MM = 40.0, 20.0


def seen_from_behind(
    vessel: Vessel, *, place: RunPlace = FROM_BACK_TO_FRONT, floor_mm: float | None = 200.0
) -> VeinMap:
    """A map with the detector in front of the patient; the floor's mark stands in for the ring."""
    vein_map = vein_map_of(vessel, tip_mm=TIP_MM, floor_mm=floor_mm)
    return replace(vein_map, runs=(replace(vein_map.runs[0], place=place),))


def course(vein_map: VeinMap) -> CarriedScale:
    found = carried_scale(vein_map, vein_map.vessels[0], PROTOCOL)
    assert isinstance(found, CarriedScale)
    return found


@pytest.mark.parametrize("forward_mm", [30.0, 45.0, 60.0])
def test_what_is_added_is_what_a_point_source_takes_away(forward_mm: float) -> None:
    # Magnification is source-detector over source-object distance: at 750 mm the scale of the
    # catheter reads a vein of 6 mm, forward_mm nearer the detector, as 6 x 750 / (750 + forward_mm)
    # mm. The cone of the rendered runs, which shares no code with the measurement, agrees.
    cone = Cone(
        source_to_detector_mm=1100.0,
        source_to_isocentre_mm=750.0,
        imager_spacing_mm=0.308,
        rows=512,
        columns=512,
    )
    walls_mm = np.array([[-3.0, 80.0, forward_mm], [3.0, 80.0, forward_mm]])
    left_px, right_px = cone.project_px(walls_mm)
    seen_mm = float(right_px[0] - left_px[0]) * cone.isocentre_mm_per_pixel
    assert seen_mm == pytest.approx(6.0 * 750.0 / (750.0 + forward_mm))
    relative = forward_mm / 750.0
    carried = CarriedScale(
        from_mm=0.0, reach_mm=200.0, reach_words=RING, low=relative, high=relative
    )
    assert seen_mm * (1.0 + carried.shift(200.0)) == pytest.approx(6.0)


def test_the_shift_grows_along_the_vein_from_where_the_scale_was_taken() -> None:
    # By hand: 4 to 8 % over 200 mm from the shaft's middle at 20 mm. At 120 mm half of 6 % and half
    # of the sd of a uniform distribution, 4 % / root 12 = 1.1547 %; at 20 mm nothing; above it the
    # vein lies farther back than the scale, -6 % x 20 / 200.
    carried = course(seen_from_behind(straight_vessel(length_mm=210.0)))
    assert carried.from_mm == pytest.approx(SHAFT_MM)
    assert carried.reach_mm == pytest.approx(200.0)
    assert carried.shift(120.0) == pytest.approx(0.03)
    assert carried.relative_sd(120.0) == pytest.approx(0.0057735, abs=1e-7)
    assert (carried.shift(SHAFT_MM), carried.relative_sd(SHAFT_MM)) == (0.0, 0.0)
    assert carried.shift(0.0) == pytest.approx(-0.006)


def test_the_course_never_goes_further_than_from_ostium_to_ring() -> None:
    carried = course(seen_from_behind(straight_vessel(length_mm=300.0)))
    assert carried.shift(290.0) == pytest.approx(0.06)


def test_the_ring_counts_before_the_ramus_and_both_before_the_local_limit() -> None:
    vessel = straight_vessel(length_mm=210.0)
    vein_map = seen_from_behind(vessel)
    marked = replace(vein_map.landmarks, internal_ring=mark_at(180.0))
    by_ring = course(replace(vein_map, landmarks=marked))
    assert by_ring.reach_mm == pytest.approx(180.0)
    assert by_ring.reach_words == RING
    assert course(vein_map).reach_words == RAMUS
    unmarked = course(seen_from_behind(vessel, floor_mm=None))
    assert (unmarked.reach_mm, unmarked.reach_words) == (200.0, NO_MARKS)


def test_the_relaxed_calibre_carries_the_shift_and_the_measured_one_does_not() -> None:
    # By hand for 6 mm: the zone's lower end at 120 mm gets + 3 %, so 6.18 mm. Depth: 1 % at the
    # catheter by the map, and half of 1.1547 %: the root of 1 + 1/3 is 1.1547 % of 6.18 mm.
    vessel = straight_vessel(length_mm=210.0, depth_relative_sd=0.01)
    found = calibre_of_zone(seen_from_behind(vessel), vessel, 90.0, 120.0, PROTOCOL)
    assert found.measured is not None
    assert found.relaxed is not None
    assert found.measured.diameter_mm == 6.0
    assert found.relaxed.diameter_mm == pytest.approx(6.18)
    assert found.relaxed.sd_parts_mm["depth"] == pytest.approx(6.18 * 0.0115470, abs=1e-6)
    assert found.relaxed.where_from == (
        "measured, at the widest place of the zone; scale carried from the catheter's depth; the "
        "vein comes forward: + 3.0 %"
    )
    assert "4 to 8 % after 200 mm of vein" in found.assumptions[0]


def test_what_a_narrowing_relaxes_to_is_carried_too() -> None:
    # By hand: the narrowing ends at 100 mm, 80 mm below the shaft's middle: 6 x (1 + 6 % x 0.4).
    narrowing = Narrowing(from_mm=95, to_mm=100, relaxed_diameter_mm=6.0, relaxed_sd_mm=0.5)
    vessel = straight_vessel(
        length_mm=210.0, diameter_mm=5.0, narrowings=(narrowing,), narrowed_to_mm=4.0
    )
    found = calibre_of_zone(seen_from_behind(vessel), vessel, 90.0, 120.0, PROTOCOL)
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == pytest.approx(6.144)
    assert "narrowing at 95 to 100 mm" in found.relaxed.where_from
    assert "+ 2.4 %" in found.relaxed.where_from


def scaled_by(vein_map: VeinMap, method: CalibrationMethod) -> VeinMap:
    return replace(vein_map, calibration=replace(vein_map.calibration, method=method))


def turned(primary_deg: float | None, secondary_deg: float | None) -> VeinMap:
    place = RunPlace(primary_angle_deg=primary_deg, secondary_angle_deg=secondary_deg)
    return seen_from_behind(straight_vessel(), place=place)


STRAIGHT = seen_from_behind(straight_vessel())
CATHETER = STRAIGHT.catheter


@pytest.mark.parametrize(
    ("vein_map", "why"),
    [
        (scaled_by(STRAIGHT, CalibrationMethod.HEADER_GEOMETRY), "isocentre"),
        (scaled_by(STRAIGHT, CalibrationMethod.RULER), "the ruler lay"),
        (scaled_by(STRAIGHT, CalibrationMethod.GIVEN), "the given scale"),
        (replace(STRAIGHT, catheter=replace(CATHETER, tip_px=None, in_vessel=None)), "tip is not"),
        (replace(STRAIGHT, catheter=replace(CATHETER, in_vessel="side-vein-1")), "in this vein"),
        (turned(None, 0.0), "angles of tube and detector are not on the map"),
        (turned(0.0, None), "angles of tube and detector are not on the map"),
        (turned(-30.0, 0.0), "turned by -30 deg"),
        (turned(0.0, 12.0), "tilted by 12 deg"),
        # The detector behind the patient: there the vein goes towards the source.
        (turned(180.0, 0.0), "turned by 180 deg"),
    ],
)
def test_where_the_direction_is_not_known_depth_counts_both_ways_and_that_is_said(
    vein_map: VeinMap, why: str
) -> None:
    vessel = vein_map.vessels[0]
    unknown = carried_scale(vein_map, vessel, PROTOCOL)
    assert isinstance(unknown, UnknownDepth)
    assert why in unknown.why
    found = calibre_of_zone(vein_map, vessel, 90.0, 120.0, PROTOCOL)
    assert found.relaxed is not None
    assert found.relaxed.diameter_mm == 6.0
    assert found.relaxed.where_from.endswith("depth counted in both directions")
    assert why in found.assumptions[0]
