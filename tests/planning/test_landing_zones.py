"""Where the levels lie, on straight trunks whose arcs are known."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.planning.landing_zones import (
    Stretch,
    distal_stretch,
    mark_floor,
    mouths_on,
    upper_stretch,
)
from coilwright.planning.ostium_limits import ostium_limits
from coilwright.protocol import load_protocol
from coilwright.veins import Narrowing, Side, Vessel
from planning.straight_trunks import mark_at, side_vein, straight_vessel, vein_map_of

PROTOCOL = load_protocol()
LEFT = ostium_limits(Side.LEFT, PROTOCOL)
ARC_TOLERANCE_MM = 1e-6
# The package's limits: zone 30 mm, 10 mm above the floor, slide up to 30 mm, clearance 5 mm,
# upper end 20 to 30 mm below the ostium.


def distal(
    *others: Vessel,
    trunk: Vessel | None = None,
    floor_mm: float = 190.0,
    sd_mm: float = 1.0,
    breathing_mm: float | None = 2.0,
) -> Stretch | None:
    vein = trunk or straight_vessel()
    vein_map = vein_map_of(vein, *others, breathing_mm=breathing_mm)
    floor = mark_floor(vein_map, vein, mark_at(floor_mm, sd_mm=sd_mm), PROTOCOL)
    return distal_stretch(vein, floor, mouths_on(vein_map, vein), PROTOCOL)


def upper(
    *others: Vessel, trunk: Vessel | None = None, ostium_mm: float = 0.0, lowest_mm: float = 150.0
) -> Stretch | None:
    vein = trunk or straight_vessel()
    vein_map = vein_map_of(vein, *others)
    return upper_stretch(vein, ostium_mm, lowest_mm, mouths_on(vein_map, vein), LEFT, PROTOCOL)


def ends(stretch: Stretch | None) -> tuple[float, float]:
    assert stretch is not None
    return stretch.from_mm, stretch.to_mm


def test_the_distal_level_ends_the_sites_offset_above_the_floor() -> None:
    assert ends(distal()) == pytest.approx((150, 180), abs=ARC_TOLERANCE_MM)


def test_a_doubtful_mark_keeps_the_level_farther_off() -> None:
    # Twice the root of 8 mm and 6 mm squared is 20 mm, more than the offset of 10 mm.
    found = distal(sd_mm=8.0, breathing_mm=6.0)
    assert ends(found) == pytest.approx((140, 170), abs=ARC_TOLERANCE_MM)


def test_the_distal_level_slides_up_past_a_mouth_that_it_would_span() -> None:
    # The mouth at 175 mm needs 5 mm of clearance: the zone ends at 170 mm.
    assert ends(distal(side_vein("s", at_mm=175))) == pytest.approx((140, 170))


def test_a_mouth_that_cannot_be_cleared_within_the_slide_is_not_chased_down() -> None:
    # Clear of 146 mm needs a slide of 39 mm; 4 mm away is the best that 30 mm of slide allows.
    assert ends(distal(side_vein("s", at_mm=146))) == pytest.approx((150, 180))


def test_the_distal_level_avoids_a_narrowing_where_an_alternative_is_near() -> None:
    narrow = Narrowing(from_mm=165, to_mm=175, relaxed_diameter_mm=6.0, relaxed_sd_mm=0.4)
    found = distal(trunk=straight_vessel(narrowings=(narrow,)))
    assert ends(found) == pytest.approx((135, 165))


def test_without_room_above_the_floor_there_is_no_distal_level() -> None:
    assert distal(floor_mm=35.0) is None
    assert distal(floor_mm=-20.0) is None


def test_a_floor_below_the_vein_that_was_seen_bounds_nothing_that_was_seen() -> None:
    assert ends(distal(floor_mm=260.0)) == pytest.approx((170, 200))


def test_the_upper_level_starts_at_the_protocols_distance_below_the_ostium() -> None:
    assert ends(upper()) == pytest.approx((20, 50))


def test_the_upper_level_slides_only_within_the_protocols_distances() -> None:
    assert ends(upper(side_vein("s", at_mm=18))) == pytest.approx((23, 53))
    assert ends(upper(side_vein("s", at_mm=40))) == pytest.approx((20, 50))


def test_the_upper_level_keeps_off_the_distal_one() -> None:
    assert upper(lowest_mm=49.0) is None
    assert ends(upper(lowest_mm=50.0)) == pytest.approx((20, 50))


def test_an_ostium_above_the_vein_that_was_seen_still_sets_the_distance() -> None:
    assert ends(upper(ostium_mm=-12.0)) == pytest.approx((8, 38))
    assert ends(upper(ostium_mm=-50.0)) == pytest.approx((0, 30))


@settings(deadline=None, max_examples=60)
@given(
    floor_mm=st.floats(-20, 260),
    sd_mm=st.floats(0, 10),
    breathing_mm=st.none() | st.floats(0, 12),
    mouths_mm=st.lists(st.floats(0, 200), max_size=5),
)
def test_no_distal_level_ever_lies_below_the_floor(
    floor_mm: float, sd_mm: float, breathing_mm: float | None, mouths_mm: list[float]
) -> None:
    others = [side_vein(f"s{i}", at_mm=at_mm) for i, at_mm in enumerate(mouths_mm)]
    found = distal(*others, floor_mm=floor_mm, sd_mm=sd_mm, breathing_mm=breathing_mm)
    if found is not None:
        assert 0 <= found.from_mm < found.to_mm <= min(floor_mm - 10, 200) + ARC_TOLERANCE_MM


@settings(deadline=None, max_examples=60)
@given(
    ostium_mm=st.floats(-60, 200),
    lowest_mm=st.floats(0, 200),
    mouths_mm=st.lists(st.floats(0, 200), max_size=5),
)
def test_no_upper_level_ever_comes_nearer_to_the_ostium_than_the_protocol_says(
    ostium_mm: float, lowest_mm: float, mouths_mm: list[float]
) -> None:
    others = [side_vein(f"s{i}", at_mm=at_mm) for i, at_mm in enumerate(mouths_mm)]
    found = upper(*others, ostium_mm=ostium_mm, lowest_mm=lowest_mm)
    if found is not None:
        assert found.from_mm >= ostium_mm + 20 - ARC_TOLERANCE_MM
        assert found.to_mm <= lowest_mm + ARC_TOLERANCE_MM
