"""Turns of a vein, on courses whose turning is known in closed form."""

import math

import pytest

from coilwright.planning.route_bends import bends_between, tortuosity
from coilwright.veins import Vessel
from planning.route_cases import PROTOCOL, course, half_circle
from planning.straight_trunks import MM_PER_PIXEL, straight_vessel

RADIUS_MM = 50.0
WINDOW_MM = PROTOCOL.limit("turn-window").value


def bends_of(vessel: Vessel) -> list[float]:
    found = bends_between(vessel, vessel.arc_mm[0], vessel.arc_mm[-1], PROTOCOL)
    return [bend.angle_deg for bend in found]


def test_a_straight_trunk_has_no_turn_and_a_tortuosity_of_one() -> None:
    straight = straight_vessel(length_mm=200)
    assert bends_of(straight) == []
    assert tortuosity(straight, 0, 200, mm_per_pixel=MM_PER_PIXEL) == pytest.approx(1.0)


def test_a_half_circle_is_one_turn_through_its_angle_less_the_window() -> None:
    # The chord over w turns at 1/r from w/2 to L - w/2: (pi r - w) / r radians.
    expected_deg = math.degrees((math.pi * RADIUS_MM - WINDOW_MM) / RADIUS_MM)
    assert bends_of(course(half_circle(RADIUS_MM))) == pytest.approx([expected_deg], abs=0.5)


def test_a_half_circle_is_pi_over_two_times_as_long_as_straight() -> None:
    vessel = course(half_circle(RADIUS_MM))
    assert vessel.arc_mm[-1] == pytest.approx(math.pi * RADIUS_MM, rel=1e-4)
    found = tortuosity(vessel, 0, vessel.arc_mm[-1], mm_per_pixel=MM_PER_PIXEL)
    assert found == pytest.approx(math.pi / 2, rel=1e-4)


def test_two_half_circles_to_opposite_sides_are_two_turns() -> None:
    there = half_circle(RADIUS_MM)
    back = half_circle(RADIUS_MM, sense=-1, from_y_mm=2 * RADIUS_MM)
    found = bends_of(course([*there, *back[1:]]))
    assert len(found) == 2
    assert all(angle > 160 for angle in found)


@pytest.mark.parametrize(("corner_deg", "turns"), [(30, 0), (60, 1), (90, 1)])
def test_a_corner_counts_from_the_protocols_angle_on(corner_deg: float, turns: int) -> None:
    # 60 mm straight down, then 60 mm at the corner's angle: the limit is 45 degrees.
    angle = math.radians(corner_deg)
    down = [(0.0, 0.5 * i) for i in range(121)]
    on = [(0.5 * i * math.sin(angle), 60 + 0.5 * i * math.cos(angle)) for i in range(1, 121)]
    found = bends_of(course(down + on))
    assert len(found) == turns
    assert found == pytest.approx([corner_deg] * turns, abs=0.5)


def test_a_vein_shorter_than_the_window_shows_no_turn() -> None:
    assert bends_of(course(half_circle(2.0))) == []
