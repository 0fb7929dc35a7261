"""How many coils to have at hand, what their nest spans, what they cost: figures by hand."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.kit import check_deliveries, delivery_ways
from coilwright.planning import LevelCalibre, plan_occlusion
from coilwright.planning.coil_number import cost_of, mouths_spanned, number_of_coils
from coilwright.planning.coil_ranking import Place, rank_coils
from coilwright.planning.landing_zones import Junction, Stretch
from coilwright.protocol import Protocol, load_protocol
from coilwright.veins import VesselKind
from planning.straight_trunks import demo_kit, side_vein, straight_vessel, vein_map_of

PROTOCOL = load_protocol()
KIT = demo_kit()
ZONE = Stretch(from_mm=100, to_mm=130)


def with_limit(limit_id: str, value: float) -> Protocol:
    limits = dict(PROTOCOL.limits)
    limits[limit_id] = replace(limits[limit_id], value=value)
    return replace(PROTOCOL, limits=limits)


def junction(name: str, at_mm: float) -> Junction:
    return Junction(vessel=name, kind=VesselKind.SIDE_VEIN, at_mm=at_mm)


@pytest.mark.parametrize(
    ("nest_mm", "number", "at_most", "to_fill_zone"),
    # 15 mm aimed at, 30 mm of zone: drawn out ceil(15 / 6) is 3; close-wound ceil(15 / 7.18) is 3,
    # ceil(30 / 7.18) is 5; exact multiples need no further coil, and two is the local least.
    [
        ((7.18, 88.5), 2, 3, 5),
        ((5.0, 6.0), 3, 3, 6),
        ((2.0, 5.0), 3, 8, 15),
        ((7.5, 7.5), 2, 2, 4),
        ((40.0, 40.0), 2, 2, 1),
    ],
)
def test_the_number_is_the_nest_aimed_at_over_the_nest_drawn_out_to_close_wound(
    nest_mm: tuple[float, float], number: int, at_most: int, to_fill_zone: int
) -> None:
    found = number_of_coils(nest_mm, ZONE, PROTOCOL)
    assert (found.number, found.at_most, found.to_fill_zone) == (number, at_most, to_fill_zone)


def test_one_coil_is_never_called_enough_and_a_second_is_for_safety() -> None:
    # Common practice, no source: a second coil is often placed for safety. REVIEW.md 9.
    found = number_of_coils((20.0, 60.0), ZONE, PROTOCOL)
    assert found.number == 2
    assert "a second one is often placed for safety" in found.text


def test_a_site_s_own_nest_length_and_a_short_zone_are_counted() -> None:
    assert number_of_coils((7.0, 7.0), ZONE, with_limit("coil-nest-length", 28)).number == 4
    short = Stretch(from_mm=100, to_mm=110)
    assert number_of_coils((3.0, 3.0), short, with_limit("coil-nest-length", 28)).number == 4


@given(close_wound_mm=st.floats(0.5, 60), shorter=st.floats(0.2, 1), least=st.integers(1, 6))
def test_a_shorter_nest_never_takes_fewer_coils(
    close_wound_mm: float, shorter: float, least: int
) -> None:
    site = with_limit("coils-per-level-least", least)
    one = number_of_coils((close_wound_mm, 2 * close_wound_mm), ZONE, site)
    other = number_of_coils((close_wound_mm * shorter, 2 * close_wound_mm * shorter), ZONE, site)
    assert least <= one.number <= one.at_most
    assert one.number <= other.number
    assert one.at_most <= other.at_most
    assert one.at_most * close_wound_mm >= 15 - 1e-5
    assert one.number * 2 * close_wound_mm >= 15 - 1e-5


def test_cost_is_number_times_price_and_not_stated_is_not_nought() -> None:
    assert cost_of(3, 120.5) == pytest.approx(361.5)
    assert cost_of(3, None) is None


def test_a_nest_spans_what_lies_within_its_length_above_the_zone_s_lower_end() -> None:
    # Nest 8 to 50 mm, 2 coils: packed 16 mm reach from 130 up to 114 mm, drawn out to 80 mm.
    mouths = [junction(name, at) for name, at in (("a", 79), ("b", 81), ("c", 115), ("d", 131))]
    found = mouths_spanned((8.0, 50.0), 2, ZONE, mouths)
    assert [(m.vessel, m.nest_from_mm, m.when_packed) for m in found] == [
        ("b", 49, False),
        ("c", 15, True),
    ]


def test_every_coil_of_the_plan_carries_number_cost_and_the_mouths_its_nest_spans() -> None:
    # 8 mm coil, 140 mm of 0.889 mm wire, in 6 mm: held on 5.111 mm a turn takes
    # sqrt((pi 5.111)^2 + 0.889^2) = 16.081 mm of wire: 8.706 turns, 7.74 mm. 15 / 7.74: 2 coils,
    # 30 / 7.74: 4. Drawn out 140 sqrt(1 - (5.111 / 7.111)^2) = 97.3 mm.
    priced = tuple(replace(c, price=95.0 if c.id == "lw-8-140" else None) for c in KIT.coils)
    vein_map = vein_map_of(straight_vessel(), side_vein("s", at_mm=130))
    distal = plan_occlusion(vein_map, replace(KIT, coils=priced), PROTOCOL).levels[0]
    first = distal.choices[0]
    assert first.device == "lw-8-140"
    assert (first.number, first.number_to_fill_zone) == (2, 4)
    assert first.price == 95.0
    assert first.cost == pytest.approx(190.0)
    (mouth,) = first.spans
    # The zone ends at 180 mm: the mouth at 130 mm is spanned once the nest is 50 mm long.
    assert (mouth.vessel, mouth.nest_from_mm, mouth.when_packed) == ("s", 50.0, False)
    assert "would span the mouth of s once longer than 50 mm" in first.why
    others = [c for c in distal.choices if c.device != "lw-8-140"]
    assert all(c.cost is None for c in others)


def test_the_plan_says_in_numbers_that_the_first_nest_may_span_a_mouth() -> None:
    vein_map = vein_map_of(straight_vessel(), side_vein("s", at_mm=130))
    found = plan_occlusion(vein_map, KIT, PROTOCOL)
    said = next(a for a in found.advisories if a.rule == "nest-may-span-mouth")
    assert "15 mm packed, one coil drawn out 97 mm" in said.text


def test_the_plan_says_where_a_drawn_out_nest_would_reach_the_renal_vein() -> None:
    # The upper zone ends 50 mm below the ostium; 97 mm drawn out is more.
    found = plan_occlusion(vein_map_of(straight_vessel()), KIT, PROTOCOL)
    said = [a for a in found.advisories if a.rule == "nest-may-reach-ostium"]
    assert len(said) == 1
    assert "50 mm away" in said[0].text
    assert "must not project into the renal vein" in said[0].text


def test_of_two_alike_the_one_with_enough_on_the_shelf_goes_first() -> None:
    coil = next(c for c in KIT.coils if c.id == "lw-8-140")
    pair = (replace(coil, id="a", shelf_count=1), replace(coil, id="b", shelf_count=2))
    ways = delivery_ways(KIT, PROTOCOL)
    at = Place(
        zone=ZONE,
        relaxed=LevelCalibre(diameter_mm=6, sd_mm=0.3, where_from="m", sd_parts_mm={}),
        ostium_mm=None,
    )
    found = rank_coils(pair, check_deliveries(pair, ways, PROTOCOL), at, PROTOCOL, None)
    assert [choice.device for choice in found] == ["b", "a"]
    assert "1 on the shelf, 2 to have at hand" in found[1].why
