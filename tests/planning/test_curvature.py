"""How sharply a trunk turns, against circles whose turn is known in closed form."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.planning import plan_occlusion
from coilwright.planning.curvature import CHORD_MM, sharpest_turn_deg, turns_deg
from coilwright.planning.landing_zones import distal_stretch, mark_floor, upper_stretch
from coilwright.planning.ostium_limits import ostium_limits
from coilwright.protocol import load_protocol
from coilwright.veins import Side, Vessel
from planning.straight_trunks import (
    MM_PER_PIXEL,
    TOP_PX,
    X_PX,
    demo_kit,
    mark_at,
    straight_vessel,
    vein_map_of,
)

PROTOCOL = load_protocol()
LEFT = ostium_limits(Side.LEFT, PROTOCOL)
# Samples stand 0.5 mm apart: a chord of a finely sampled circle is that exact.
TURN_TOLERANCE_DEG = 0.2


def bent_vessel(turns_per_mm: list[float]) -> Vessel:
    """A trunk that turns by this many radians at each step of 0.5 mm; the rest goes straight on."""
    straight = straight_vessel()
    turn = np.zeros(len(straight.arc_mm) - 1)
    turn[: len(turns_per_mm)] = turns_per_mm
    heading = np.cumsum(turn * 0.5)
    steps_px = 0.5 / MM_PER_PIXEL * np.stack([np.sin(heading), np.cos(heading)], axis=1)
    start_px = np.array([[X_PX, TOP_PX]])
    points = np.concatenate([start_px, start_px + np.cumsum(steps_px, axis=0)])
    return replace(straight, points_px=tuple((float(x), float(y)) for x, y in points))


def arc_of_a_circle(radius_mm: float, from_mm: float, to_mm: float) -> Vessel:
    """Straight, then on a circle, then straight again."""
    at_mm = np.arange(400) * 0.5
    curved = (at_mm >= from_mm) & (at_mm < to_mm)
    return bent_vessel(np.where(curved, 1 / radius_mm, 0.0).tolist())


def test_a_straight_trunk_does_not_turn() -> None:
    assert sharpest_turn_deg(straight_vessel(), 50, 80) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("radius_mm", [15.0, 20.0, 40.0, 100.0])
def test_on_a_circle_the_chords_turn_by_the_arc_over_the_radius(radius_mm: float) -> None:
    # Two chords of 10 mm of arc each on a circle of radius R turn by 10 / R radians.
    curved = arc_of_a_circle(radius_mm, 60, 120)
    by_hand = math.degrees(10 / radius_mm)
    assert sharpest_turn_deg(curved, 75, 105) == pytest.approx(by_hand, abs=TURN_TOLERANCE_DEG)


def test_a_right_angle_shows_in_full_and_only_near_its_corner() -> None:
    corner = bent_vessel([0.0] * 200 + [math.pi])  # 90 degrees in one step of 0.5 mm, at 100 mm
    assert sharpest_turn_deg(corner, 80, 120) == pytest.approx(90.0, abs=TURN_TOLERANCE_DEG)
    assert sharpest_turn_deg(corner, 40, 100 - CHORD_MM - 1) == pytest.approx(0.0, abs=1e-6)


def test_so_near_to_an_end_that_no_chord_fits_the_turn_is_not_told() -> None:
    assert np.isnan(turns_deg(straight_vessel())[[0, -1]]).all()
    assert sharpest_turn_deg(straight_vessel(length_mm=8.0), 0, 8) is None


def test_the_noise_of_a_centreline_is_far_below_the_limit() -> None:
    # 0.2 mm beside the line at each of three ends of two 10 mm chords: the turn's sd is
    # 0.2 sqrt(6) / 10 rad = 2.8 deg; 4 sd of it stay under half of the limit of 30 deg.
    noise_px = np.random.default_rng(6).normal(0, 0.2 / MM_PER_PIXEL, 401)
    straight = straight_vessel()
    points = tuple((x + dx, y) for (x, y), dx in zip(straight.points_px, noise_px, strict=True))
    found = sharpest_turn_deg(replace(straight, points_px=points), 20, 180)
    assert found is not None
    assert 1.0 < found < 15.0


@given(angle=st.floats(0, 2 * math.pi), scale=st.floats(0.5, 3))
def test_a_turned_or_enlarged_picture_turns_the_vein_no_more(angle: float, scale: float) -> None:
    curved = arc_of_a_circle(25.0, 60, 120)
    points = np.asarray(curved.points_px)
    rotate = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    moved = replace(
        curved, points_px=tuple((float(x), float(y)) for x, y in scale * points @ rotate.T)
    )
    assert sharpest_turn_deg(moved, 60, 120) == pytest.approx(sharpest_turn_deg(curved, 60, 120))


def test_the_distal_zone_slides_up_out_of_a_bend() -> None:
    # 90 degrees at 170 mm turn whatever lies within 10 mm: from the target of 150 to 180 mm the
    # zone moves up until it ends between 160 and 170 mm, where the turn is under the limit of 30.
    corner = bent_vessel([0.0] * 340 + [math.pi])
    vein_map = vein_map_of(corner)
    floor = replace(mark_floor(vein_map, corner, mark_at(190.0), PROTOCOL), lowest_mm=180.0)
    found = distal_stretch(corner, floor, (), PROTOCOL)
    assert found is not None
    turn_deg = sharpest_turn_deg(corner, found.from_mm, found.to_mm)
    assert turn_deg is not None
    assert turn_deg <= 30
    assert 160 <= found.to_mm <= 170


def test_the_upper_zone_too_prefers_the_straighter_place_within_its_distances() -> None:
    corner = bent_vessel(
        [0.0] * 34 + [math.pi]
    )  # 90 degrees at 17 mm: the zone from 20 mm feels it
    found = upper_stretch(corner, 0.0, 150.0, (), LEFT, PROTOCOL)
    assert found is not None
    assert 20 < found.from_mm <= 30


def test_a_zone_that_cannot_leave_a_bend_says_so_with_its_turn() -> None:
    curved = arc_of_a_circle(12.0, 10, 100)  # 48 deg within 20 mm, all along the upper zone
    found = plan_occlusion(
        replace(vein_map_of(curved), landmarks=vein_map_of(straight_vessel()).landmarks),
        demo_kit(),
        PROTOCOL,
    )
    said = [a for a in found.advisories if a.rule == "zone-in-bend"]
    assert any("turns by 48 deg within 20 mm" in a.text for a in said)
    assert all(a.limit == 30 and "not signed off" in a.text for a in said)
