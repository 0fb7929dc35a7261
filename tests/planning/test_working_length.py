"""What is long enough: labels against the shortest and the longest that a path may be."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.kit import Kit, Wire
from coilwright.planning.route import DeviceReach, Reach
from coilwright.planning.route_length import RouteLength, exactly, total
from coilwright.planning.working_length import (
    PathToReach,
    ReachOfKit,
    needed_catheter,
    needed_microcatheter,
    reach_verdict,
)
from planning.route_cases import PROTOCOL, READ_AT, catheter, kit_of, microcatheter

# 45 cm by hand, 42 to 48 cm: a catheter needs 52 to 58 cm, a microcatheter 62 to 68 cm.
PATH = PathToReach(length=RouteLength(value_mm=450, low_mm=420, high_mm=480), limits_stand=True)
MERIT = {
    Reach.DOES_NOT_REACH: 0,
    Reach.CANNOT_BE_TOLD: 1,
    Reach.MAY_NOT_REACH: 1,
    Reach.REACHES: 2,
}
lengths_mm = st.floats(0, 3000)


def catheters(*lengths_cm: float | None, path: PathToReach = PATH) -> list[DeviceReach]:
    tubes = [catheter(cm, id=f"c{i}") for i, cm in enumerate(lengths_cm)]
    return list(ReachOfKit(kit_of(*tubes), PROTOCOL, None).catheters(path))


@st.composite
def ranges(draw: st.DrawFn) -> RouteLength:
    low, value, high = sorted(draw(st.tuples(lengths_mm, lengths_mm, lengths_mm)))
    if draw(st.booleans()):
        return RouteLength(low_mm=low)
    return RouteLength(value_mm=value, low_mm=low, high_mm=high)


def test_what_stays_outside_and_the_hub_are_added_to_the_path() -> None:
    assert needed_catheter(PATH.length, PROTOCOL).value_mm == 550
    assert needed_microcatheter(PATH.length, PROTOCOL).value_mm == 650


@pytest.mark.parametrize(
    ("length_cm", "verdict"),
    [
        (51.9, Reach.DOES_NOT_REACH),
        (52, Reach.MAY_NOT_REACH),
        (57.9, Reach.MAY_NOT_REACH),
        (58, Reach.REACHES),
        (100, Reach.REACHES),
    ],
)
def test_a_catheter_is_judged_against_both_ends_of_the_range(
    length_cm: float, verdict: Reach
) -> None:
    assert catheters(length_cm)[0].verdict is verdict


def test_the_margin_is_what_is_left_at_the_longest_and_at_the_shortest() -> None:
    assert catheters(65)[0].margin_mm == pytest.approx((70, 130))


def test_a_silent_label_cannot_be_told_and_says_what_to_read() -> None:
    found = catheters(None)[0]
    assert found.verdict is Reach.CANNOT_BE_TOLD
    assert found.margin_mm == (None, None)
    assert "read the length (cm) off its label" in found.text


def test_on_a_path_with_an_unknown_part_a_device_can_be_too_short_but_never_reach() -> None:
    open_ended = PathToReach(length=RouteLength(low_mm=420), limits_stand=True)
    found = catheters(40, 65, 400, path=open_ended)
    verdicts = [device.verdict for device in found]
    assert verdicts == [Reach.DOES_NOT_REACH, Reach.CANNOT_BE_TOLD, Reach.CANNOT_BE_TOLD]


def test_a_microcatheter_needs_a_catheter_that_takes_it() -> None:
    # REVIEW 9: 3 F is 1.00 mm and does not pass 0.038 in (0.965 mm); 2.7 F (0.90 mm) does.
    kit = kit_of(
        catheter(65),
        microcatheter(130, outer_fr=2.7, id="thin"),
        microcatheter(130, outer_fr=3.0, id="thick"),
        microcatheter(130, outer_fr=None, id="silent"),
    )
    thin, thick, silent = ReachOfKit(kit, PROTOCOL, None).microcatheters(PATH)
    assert thin.verdict is Reach.REACHES
    assert thin.guided_by == ("catheter",)
    for other in (thick, silent):
        assert other.verdict is Reach.CANNOT_BE_TOLD
        assert other.guided_by == ()
        assert "is known to take it" in other.text


def test_a_microcatheter_that_does_not_stand_out_of_its_guide_has_none() -> None:
    # 70 cm is long enough for the path, not for a guide of 65 cm with 10 cm past the hub.
    kit = kit_of(catheter(65), microcatheter(70))
    (found,) = ReachOfKit(kit, PROTOCOL, None).microcatheters(PATH)
    assert found.guided_by == ()
    assert found.verdict is Reach.CANNOT_BE_TOLD


def test_wires_that_lead_and_over_which_a_catheter_comes_off_are_told_apart() -> None:
    # Exchange of a 65 cm catheter 48 cm in the body with 10 cm past the hub: 123 cm of wire.
    wires = tuple(
        Wire(
            id=f"w{cm}",
            name=f"wire of {cm} cm",
            read_at=READ_AT,
            shelf_count=1,
            wire_inch=0.035,
            length_cm=cm,
        )
        for cm in (80, 122, 123)
    )
    kit = Kit(catheters=(catheter(65),), wires=wires)
    (found,) = ReachOfKit(kit, PROTOCOL, None).catheters(PATH)
    assert found.led_by == ("w80", "w122", "w123")
    assert found.exchanged_over == ("w123",)


@given(ranges(), lengths_mm, lengths_mm)
def test_a_longer_catheter_never_reaches_less(
    needed: RouteLength, one_mm: float, other_mm: float
) -> None:
    short_mm, long_mm = sorted((one_mm, other_mm))
    assert MERIT[reach_verdict(short_mm, needed)] <= MERIT[reach_verdict(long_mm, needed)]


@given(ranges(), lengths_mm, lengths_mm)
def test_a_longer_vein_never_makes_a_device_reach_more(
    path: RouteLength, more_mm: float, labelled_mm: float
) -> None:
    longer = path.plus(more_mm)
    assert MERIT[reach_verdict(labelled_mm, longer)] <= MERIT[reach_verdict(labelled_mm, path)]


@given(st.lists(ranges(), min_size=1, max_size=6))
def test_one_unknown_part_leaves_the_whole_unknown_above(parts: list[RouteLength]) -> None:
    whole = total([*parts, RouteLength()])
    assert whole.value_mm is None
    assert whole.high_mm is None
    assert whole.low_mm >= max(part.low_mm for part in parts)


def test_a_length_outside_its_own_range_cannot_be_made() -> None:
    with pytest.raises(ValueError, match="must lie in its own range"):
        RouteLength(value_mm=10, low_mm=20, high_mm=30)
    with pytest.raises(ValueError, match="must lie in its own range"):
        exactly(-1.0)
