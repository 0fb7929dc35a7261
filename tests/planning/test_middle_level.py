"""A level between the two where a vein that was seen meets the distal one alone, or passes it."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.advice import Urgency
from coilwright.planning import LevelName, OcclusionPlan, plan_occlusion
from coilwright.protocol import load_protocol
from coilwright.veins import Join, OwnEnd, Vessel, VesselKind
from planning.straight_trunks import demo_kit, side_vein, straight_vessel, vein_map_of

PROTOCOL = load_protocol()
KIT = demo_kit()
# On the plain trunk the distal zone is 150 to 180 mm, the upper one 20 to 50 mm.


def duplicate(vessel_id: str, *, from_mm: float, to_mm: float) -> Vessel:
    leaves = side_vein(vessel_id, at_mm=from_mm)
    rejoins = Join(own_end=OwnEnd.END, vessel="trunk", at_mm=to_mm)
    return replace(leaves, kind=VesselKind.DUPLICATE, joins=(*leaves.joins, rejoins))


def plan(*others: Vessel) -> OcclusionPlan:
    return plan_occlusion(vein_map_of(straight_vessel(), *others), KIT, PROTOCOL)


def rules(found: OcclusionPlan) -> set[str]:
    return {advisory.rule for advisory in found.advisories}


def test_a_plain_trunk_has_no_middle_level() -> None:
    assert plan().level(LevelName.MIDDLE) is None


def test_the_coil_goes_below_the_side_vein_that_would_refill() -> None:
    # Common practice. The mouth at 90 mm lies under the upper level; the zone starts below it.
    found = plan(side_vein("s", at_mm=90))
    middle = found.level(LevelName.MIDDLE)
    assert middle is not None
    assert middle.zone.from_mm >= 95
    assert middle.zone.to_mm <= 150
    assert [(level.name.value, level.order) for level in found.levels] == [
        ("distal", 1),
        ("middle", 2),
        ("upper", 3),
    ]
    assert "s (at 90 mm)" in middle.why
    assert middle.first_choice == "lw-8-140"
    (said,) = [a for a in found.advisories if a.rule == "middle-level"]
    assert "Rule: where a side vein or duplicate joins between the levels" in said.text


def test_a_side_vein_narrower_than_the_local_least_asks_for_none() -> None:
    thin = side_vein("s", at_mm=90)
    assert plan(replace(thin, diameter_mm=(1.4, 1.4))).level(LevelName.MIDDLE) is None
    unknown = replace(thin, diameter_mm=(None, None), diameter_sd_mm=(None, None))
    assert plan(unknown).level(LevelName.MIDDLE) is not None


def test_a_duplicate_that_passes_the_distal_level_gets_one_above_both_its_mouths() -> None:
    found = plan(duplicate("d", from_mm=130, to_mm=195))
    middle = found.level(LevelName.MIDDLE)
    assert middle is not None
    assert middle.zone.to_mm <= 125
    assert "above both mouths of d (at 130 mm)" in middle.why


def test_a_duplicate_within_the_closed_stretch_brings_no_blood_of_its_own() -> None:
    assert plan(duplicate("d", from_mm=70, to_mm=120)).level(LevelName.MIDDLE) is None


def test_a_middle_zone_is_not_passed_by_a_duplicate_beside_it() -> None:
    found = plan(side_vein("s", at_mm=56), duplicate("d", from_mm=64, to_mm=105))
    middle = found.level(LevelName.MIDDLE)
    assert middle is not None
    assert middle.zone.from_mm >= 110


def test_a_duplicate_past_every_level_stops_for_thought() -> None:
    found = plan(duplicate("d", from_mm=10, to_mm=195))
    (said,) = [a for a in found.advisories if a.rule == "duplicate-past-every-level"]
    assert said.urgency is Urgency.STOP_AND_THINK
    assert "no coil in the trunk shuts it" in said.text


def test_without_room_for_it_sclerosant_or_the_vein_itself_is_named() -> None:
    # The mouth at 130 mm leaves 150 - 135 = 15 mm to the distal level: no zone of 30 mm.
    found = plan(side_vein("s", at_mm=130))
    assert found.level(LevelName.MIDDLE) is None
    (said,) = [a for a in found.advisories if a.rule == "middle-no-room"]
    assert "s (at 130 mm) joins between the levels" in said.text
    assert "sclerosant between the levels" in said.text


def test_the_sclerosant_figure_still_speaks_of_the_vein_between_the_outer_levels() -> None:
    # 50 to 150 mm of 6 mm: pi/4 x 36 x 100 = 2827 mm3.
    found = plan(side_vein("s", at_mm=90))
    assert found.sclerosant is not None
    assert (found.sclerosant.from_mm, found.sclerosant.to_mm) == (50, 150)
    assert found.sclerosant.volume_ml == pytest.approx(2.827, abs=0.005)


@settings(max_examples=60)
@given(
    sides_mm=st.lists(st.floats(0, 200), max_size=4),
    duplicates_mm=st.lists(st.tuples(st.floats(0, 200), st.floats(0, 200)), max_size=2),
)
def test_no_middle_level_ever_touches_the_others_or_leaves_its_reason_unserved(
    sides_mm: list[float], duplicates_mm: list[tuple[float, float]]
) -> None:
    others = [side_vein(f"s{i}", at_mm=at) for i, at in enumerate(sides_mm)]
    others += [
        duplicate(f"d{i}", from_mm=min(pair), to_mm=max(pair))
        for i, pair in enumerate(duplicates_mm)
    ]
    found = plan(*others)
    zones = {level.name: level.zone for level in found.levels}
    if LevelName.MIDDLE not in zones:
        return
    middle = zones[LevelName.MIDDLE]
    assert zones[LevelName.UPPER].to_mm <= middle.from_mm
    assert middle.to_mm <= zones[LevelName.DISTAL].from_mm
    above = [at for at in sides_mm if zones[LevelName.UPPER].to_mm <= at <= middle.from_mm]
    ends = [at for pair in duplicates_mm for at in pair]
    assert above or any(zones[LevelName.UPPER].to_mm <= at for at in ends)
