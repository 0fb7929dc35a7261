"""Every way to the vein: lengths worked by hand, sides, what is missing and what is not known."""

import math
from dataclasses import replace

import pytest

from coilwright.advice import Status, Urgency
from coilwright.kit import Kit
from coilwright.planning.plan import LevelName
from coilwright.planning.route import (
    Access,
    AccessSite,
    LengthFrom,
    Reach,
    RouteOption,
    RouteTarget,
)
from coilwright.planning.route_measured import RouteInputProblem, measurable
from coilwright.planning.routes import NO_MAP, routes
from coilwright.protocol import UNSIGNED, Protocol
from coilwright.veins import Side, VeinMap
from planning.route_cases import (
    PROTOCOL,
    catheter,
    course,
    half_circle,
    kit_of,
    level_at,
    path_to,
    signed,
    way,
)
from planning.straight_trunks import straight_vessel, vein_map_of

NECK_LEFT = {
    "right-internal-jugular-to-atrium": 170.0,
    "atrium-to-left-renal-vein": 220.0,
    "left-renal-vein-to-ostium": 60.0,
}
LEVELS = (level_at(LevelName.DISTAL, 150, 180), level_at(LevelName.UPPER, 20, 50))


def left(
    vein_map: VeinMap | None = None,
    *,
    kit: Kit | None = None,
    protocol: Protocol = PROTOCOL,
    measured: dict[str, float] | None = None,
    height_cm: float | None = None,
    access: Access = Access.RIGHT_INTERNAL_JUGULAR,
) -> RouteOption:
    options = routes(
        vein_map,
        Side.LEFT,
        kit or Kit(),
        protocol,
        measured_lengths_mm=measured or {},
        height_cm=height_cm,
        levels=LEVELS,
    )
    return way(options, access)


def straight_map() -> VeinMap:
    return vein_map_of(straight_vessel())


def test_neck_groin_and_arm_of_both_sides_are_all_among_the_ways() -> None:
    # REVIEW 8: arm and groin access among the options.
    options = routes(None, Side.LEFT, Kit(), PROTOCOL)
    assert {option.access for option in options} == set(Access)
    assert {option.site for option in options} == set(AccessSite)


def test_measured_parts_are_added_and_their_errors_with_them() -> None:
    # 170 + 220 + 60 = 450 mm, each with 10 mm either way.
    path = path_to(left(measured=NECK_LEFT), RouteTarget.OSTIUM)
    assert path.length.value_mm == pytest.approx(450)
    assert (path.length.low_mm, path.length.high_mm) == pytest.approx((420, 480))
    # And 10 cm outside the skin; a microcatheter 10 cm more.
    assert path.needed_catheter.value_mm == pytest.approx(550)
    assert path.needed_microcatheter.value_mm == pytest.approx(650)


def test_the_way_down_to_a_level_is_that_of_the_run_with_the_scales_doubt() -> None:
    # 180 mm along a straight trunk. Scale 2 %, depth 5 %, catheter 2 %: root(33)/100 of it, 10.340
    # mm; the ostium's mark 1 mm. Low 180 - 2 x 11.340; high (180 + 2 x 10.340) x 1.1 + 2 x 1.
    option = left(straight_map())
    segment = next(s for s in option.segments if s.id == "ostium-to-distal")
    sd_mm = 1.8 * math.sqrt(33)
    assert segment.where_from is LengthFrom.RUN
    assert segment.length.low_mm == pytest.approx(180 - 2 * (sd_mm + 1))
    assert segment.length.high_mm == pytest.approx((180 + 2 * sd_mm) * 1.1 + 2)
    assert "at least" in segment.text


def test_a_half_circle_is_as_long_as_its_arc_and_one_turn_more_than_its_corners() -> None:
    # Radius 60 mm: pi x 60 = 188.5 mm down to its end; two corners by anatomy from the right neck.
    vessel = course(half_circle(60.0))
    end_mm = vessel.arc_mm[-1]
    vein_map = vein_map_of(vessel, ostium_mm=None, floor_mm=None, tip_mm=None)
    options = routes(
        vein_map,
        Side.LEFT,
        Kit(),
        PROTOCOL,
        levels=(level_at(LevelName.DISTAL, end_mm - 30, end_mm),),
    )
    option = way(options, Access.RIGHT_INTERNAL_JUGULAR)
    path = path_to(option, RouteTarget.DISTAL)
    assert end_mm == pytest.approx(math.pi * 60, rel=1e-4)
    assert path.bends is not None
    assert len(path.bends) == 1
    assert path.turns_at_least == len(option.corners) + 1 == 3
    assert path.tortuosity == pytest.approx(math.pi / 2, rel=1e-4)


def test_a_straight_trunk_adds_no_turn_to_the_corners() -> None:
    path = path_to(left(straight_map()), RouteTarget.DISTAL)
    assert path.bends == ()
    assert path.turns_at_least == 2


def test_bends_that_no_run_shows_are_not_known_and_not_none() -> None:
    path = path_to(left(measured={"ostium-to-distal": 180.0}), RouteTarget.DISTAL)
    assert path.bends is None
    assert path.tortuosity is None


def test_a_middle_level_has_its_own_path_between_the_others() -> None:
    levels = (*LEVELS, level_at(LevelName.MIDDLE, 80, 110))
    options = routes(straight_map(), Side.LEFT, Kit(), PROTOCOL, levels=levels)
    targets = [path.target for path in options[0].targets]
    assert targets == ["ostium", "upper", "middle", "distal"]
    lows = [path.length.low_mm for path in options[0].targets]
    assert lows == sorted(lows)


def test_levels_worked_from_the_map_lie_where_the_plan_has_them() -> None:
    # Upper: 20 mm below the ostium, 30 mm long, so its far end is at 50 mm (limits of planning).
    options = routes(straight_map(), Side.LEFT, Kit(), PROTOCOL)
    option = options[0]
    assert "50 mm" in next(s.text for s in option.segments if s.id == "ostium-to-upper")


@pytest.mark.parametrize("access", list(Access))
@pytest.mark.parametrize("side", list(Side))
def test_below_the_heart_and_off_the_neck_no_length_is_made_of_the_body_height(
    access: Access, side: Side
) -> None:
    option = way(routes(None, side, Kit(), PROTOCOL, height_cm=175), access)
    for segment in option.segments:
        if segment.where_from is LengthFrom.PUBLISHED:
            assert access.site is AccessSite.NECK
            assert segment.id == f"{access}-to-atrium"
        else:
            assert segment.length.value_mm is None
            assert segment.length.high_mm is None
            assert segment.length.low_mm == 0
    assert path_to(option, RouteTarget.OSTIUM).length.value_mm is None


def test_a_remembered_range_is_shown_and_never_added() -> None:
    # CLINICAL 3.2: from memory, atrium 4 to 6 cm and cava 15 to 20 cm: 19 to 26 cm together.
    option = left(height_cm=175)
    cava = next(s for s in option.segments if s.id == "atrium-to-left-renal-vein")
    assert "19 to 26 cm" in cava.text
    assert "not added" in cava.text
    path = path_to(option, RouteTarget.OSTIUM)
    assert path.length.low_mm == pytest.approx(138)  # the neck's own lower end and no more
    assert path.length.high_mm is None


def test_a_typed_length_replaces_the_estimate_of_its_part_alone() -> None:
    estimated = left(height_cm=175, measured={k: v for k, v in list(NECK_LEFT.items())[1:]})
    typed = left(height_cm=175, measured=NECK_LEFT)
    assert path_to(estimated, RouteTarget.OSTIUM).estimated == ("right-internal-jugular-to-atrium",)
    assert path_to(typed, RouteTarget.OSTIUM).estimated == ()
    assert typed.segments[0].length.value_mm == 170
    assert typed.segments[1:] == estimated.segments[1:]


def test_a_typed_length_replaces_that_of_the_run_too() -> None:
    option = left(straight_map(), measured={"ostium-to-distal": 195.0})
    segment = next(s for s in option.segments if s.id == "ostium-to-distal")
    assert segment.where_from is LengthFrom.TABLE
    assert (segment.length.low_mm, segment.length.high_mm) == (185, 205)


def test_the_way_measured_whole_stands_for_its_parts() -> None:
    option = left(measured={"right-internal-jugular-to-ostium": 440.0})
    assert path_to(option, RouteTarget.OSTIUM).segments == ("right-internal-jugular-to-ostium",)


def test_a_whole_way_that_its_parts_contradict_is_said() -> None:
    # The parts come to 420 to 480 mm; 350 + 10 mm is less than the least of them.
    short = left(measured={**NECK_LEFT, "right-internal-jugular-to-ostium": 350.0})
    agreeing = left(measured={**NECK_LEFT, "right-internal-jugular-to-ostium": 460.0})
    assert "route-lengths-disagree" in {a.rule for a in short.advisories}
    assert "route-lengths-disagree" not in {a.rule for a in agreeing.advisories}


def test_a_vein_measured_shorter_than_the_run_shows_it_is_said() -> None:
    option = left(straight_map(), measured={"ostium-to-distal": 120.0})
    said = next(a for a in option.advisories if a.rule == "route-lengths-disagree")
    assert said.urgency is Urgency.CAUTION
    assert "check both" in said.text


def test_a_height_that_is_not_given_is_named_as_missing_from_the_neck_alone() -> None:
    assert "body height (height_cm)" in left().missing
    assert "body height (height_cm)" not in left(height_cm=175).missing
    assert "body height (height_cm)" not in left(access=Access.RIGHT_COMMON_FEMORAL).missing


def test_what_keeps_a_level_from_having_a_path_is_named() -> None:
    assert NO_MAP in left().missing
    unmarked = vein_map_of(straight_vessel(), ostium_mm=None, floor_mm=None)
    missing = routes(unmarked, Side.LEFT, Kit(), PROTOCOL)[0].missing
    assert "upper edge of the superior pubic ramus (landmarks.superior_ramus_edge)" in missing
    assert "ostium (landmarks.ostium)" in missing


def test_a_map_without_a_main_vein_is_no_map_of_the_way() -> None:
    empty = replace(straight_map(), vessels=())
    assert NO_MAP in left(empty).missing


def test_without_the_ostium_a_level_is_at_least_as_far_as_the_vein_was_seen() -> None:
    option = left(vein_map_of(straight_vessel(), ostium_mm=None))
    segment = next(s for s in option.segments if s.id == "ostium-to-distal")
    assert segment.length.value_mm is None
    assert segment.length.high_mm is None
    assert segment.length.low_mm == pytest.approx(180 - 2 * 1.8 * math.sqrt(33))
    assert segment.missing == ("ostium (landmarks.ostium)",)


def test_the_side_of_the_vein_and_that_of_the_puncture_are_never_swapped() -> None:
    # The left ostium lies in the left renal vein, the right one in the cava itself.
    for option in routes(None, Side.LEFT, Kit(), PROTOCOL):
        assert option.segments[-1].id == "left-renal-vein-to-ostium"
        assert option.corners[-1].id == "left-renal-vein-into-gonadal"
        assert option.segments[0].id.startswith(option.access.value)
    for option in routes(None, Side.RIGHT, Kit(), PROTOCOL):
        assert option.segments[-1].id.endswith("-to-right-ostium")
        assert option.corners[-1].id == "cava-into-right-gonadal"
        assert "left-renal-vein-to-ostium" not in {s.id for s in option.segments}


def test_a_map_of_the_other_side_is_not_used_and_that_stops_the_reader() -> None:
    right_map = vein_map_of(straight_vessel(), side=Side.RIGHT)
    option = left(right_map)
    assert option.to(RouteTarget.DISTAL) is None
    assert NO_MAP in option.missing
    said = next(a for a in option.advisories if a.rule == "route-side-mismatch")
    assert said.urgency is Urgency.STOP_AND_THINK


def test_a_map_that_states_no_side_is_asked_for_it() -> None:
    option = left(vein_map_of(straight_vessel(), side=None))
    assert "side of the vein map (left or right)" in option.missing


def test_the_only_angle_is_the_one_that_was_read() -> None:
    # Embolization Therapy, chapter 53: the left vein meets the renal vein at about 90 degrees.
    angles = {
        corner.id: corner.angle_deg
        for side in Side
        for option in routes(None, side, Kit(), PROTOCOL)
        for corner in option.corners
    }
    assert {id for id, angle in angles.items() if angle is not None} == {
        "left-renal-vein-into-gonadal"
    }
    assert angles["left-renal-vein-into-gonadal"] == 90


def test_published_doses_stand_as_printed_and_prefer_no_access() -> None:
    # Alqubaisi et al., Arab J Interv Radiol 2020;4:83-86: 87.6, 149.4 and 79.2 Gy.cm2.
    said = {
        option.access: next(a for a in option.advisories if a.rule == "route-published-dose").text
        for option in routes(None, Side.LEFT, Kit(), PROTOCOL)
    }
    assert "87.6 Gy.cm2" in said[Access.RIGHT_INTERNAL_JUGULAR]
    assert "149.4 Gy.cm2" in said[Access.LEFT_ARM]
    assert "79.2 Gy.cm2" in said[Access.LEFT_ARM]
    assert all("no reason to prefer" in text for text in said.values())


def test_no_reach_by_limits_from_memory_looks_satisfied_until_they_are_signed() -> None:
    # REVIEW 12.
    kit = kit_of(catheter(100))
    unsigned = left(kit=kit, measured=NECK_LEFT)
    found = path_to(unsigned, RouteTarget.OSTIUM).catheters[0]
    assert found.verdict is Reach.REACHES
    assert not found.limit_stands
    assert "not signed off" in found.text
    working = next(a for a in unsigned.advisories if a.rule == "route-working-length")
    assert working.urgency is Urgency.CAUTION
    assert working.status is Status.FROM_MEMORY
    assert UNSIGNED in working.text
    stands = path_to(left(kit=kit, measured=NECK_LEFT, protocol=signed()), RouteTarget.OSTIUM)
    assert stands.catheters[0].limit_stands
    assert "not signed off" not in stands.catheters[0].text


def test_an_unsigned_limit_under_one_part_reaches_every_device_on_the_path() -> None:
    kit = kit_of(catheter(150))
    # Everything signed but the error of a length from the table.
    id = "measured-length-error"
    whole = signed()
    but_one = replace(whole, limits={**whole.limits, id: PROTOCOL.limit(id)})
    typed = path_to(left(kit=kit, measured=NECK_LEFT, protocol=but_one), RouteTarget.OSTIUM)
    untyped = path_to(left(kit=kit, protocol=but_one), RouteTarget.OSTIUM)
    assert not typed.catheters[0].limit_stands
    assert untyped.catheters[0].limit_stands


@pytest.mark.parametrize(
    ("measured", "why"),
    [
        ({"right-internal-jugular-to-knee": 200.0}, "name one of"),
        ({"atrium-to-right-ostium": 200.0}, "no part of a way to the left vein"),
        ({"atrium-to-left-renal-vein": 2.2}, "give millimetres from 5 to 1500"),
        ({"atrium-to-left-renal-vein": math.nan}, "is not possible"),
        ({"atrium-to-left-renal-vein": -220.0}, "is not possible"),
    ],
)
def test_a_length_that_no_part_can_have_is_refused(measured: dict[str, float], why: str) -> None:
    with pytest.raises(RouteInputProblem, match=why):
        left(measured=measured)


@pytest.mark.parametrize("height_cm", [1.75, 0.0, 400.0, math.nan])
def test_a_height_that_nobody_has_is_refused(height_cm: float) -> None:
    with pytest.raises(RouteInputProblem, match="give the height in centimetres"):
        left(height_cm=height_cm)


@pytest.mark.parametrize("side", list(Side))
def test_every_missing_length_can_be_typed_by_the_name_it_is_asked_for(side: Side) -> None:
    names = dict.fromkeys(measurable(side), 100.0)
    for option in routes(None, side, Kit(), PROTOCOL):
        asked = [item for item in option.missing if "measured_lengths_mm." in item]
        assert asked
        for item in asked:
            assert item.split("measured_lengths_mm.")[1].rstrip(")") in names
    for option in routes(None, side, Kit(), PROTOCOL, measured_lengths_mm=names):
        assert not [item for item in option.missing if "measured_lengths_mm." in item]
