"""The network that a plan is judged on: cuts, the device that counts, and what stays open."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.advice import Advisory, Urgency
from coilwright.kit import Kit, delivery_ways
from coilwright.planning import NetworkMarks, OcclusionPlan, plan_occlusion
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.marks_fit import MarksDoNotFit
from coilwright.planning.network_marks import Channel, FarEnd, NewPoint, Protected, SeenBy
from coilwright.planning.network_words import pathway_words
from coilwright.planning.open_pathways import open_pathways
from coilwright.planning.plan_network import NoNetwork, PlanNetwork, plan_network, smallest_tube
from coilwright.protocol import load_protocol
from coilwright.units import fr_to_mm
from coilwright.veins import OwnEnd, VeinMap, Vessel
from coilwright.veins.vein_network import PointKind
from kit.devices import catheter, micro
from planning.straight_trunks import demo_kit, side_vein, straight_vessel, vein_map_of
from planning.trunk_networks import MARKS, SIGNED, duplicate

PROTOCOL = load_protocol()
KIT = demo_kit()
WAYS = delivery_ways(KIT, PROTOCOL)


def network_of(
    vein_map: VeinMap, *stretches: tuple[float, float], marks: NetworkMarks | None = None
) -> PlanNetwork:
    found = plan_network(vein_map, marks, WAYS, [Stretch(from_mm=a, to_mm=b) for a, b in stretches])
    assert isinstance(found, PlanNetwork)
    return found


def plan(*vessels: Vessel, marks: NetworkMarks | None = None) -> OcclusionPlan:
    return plan_occlusion(vein_map_of(straight_vessel(), *vessels), KIT, PROTOCOL, marks=marks)


def said(found: OcclusionPlan, rule: str) -> Advisory:
    (advisory,) = [a for a in found.advisories if a.rule == rule]
    return advisory


def test_every_stretch_is_a_piece_of_the_trunk_of_its_own() -> None:
    # By hand: a mouth at 90 and the ramus at 190 cut the undivided trunk; the zones add four cuts.
    found = network_of(
        vein_map_of(straight_vessel(), side_vein("s", at_mm=90)), (20, 50), (150, 180)
    )
    assert sorted(found.undivided_arcs_mm.values()) == [(0, 90), (90, 190), (190, 200)]
    assert sorted(found.trunk_arcs_mm.values()) == [
        (0, 20), (20, 50), (50, 90), (90, 150), (150, 180), (180, 190), (190, 200),
    ]  # fmt: skip
    (piece,) = found.pieces_in(Stretch(from_mm=150, to_mm=180))
    assert found.trunk_arcs_mm[piece] == (150, 180)
    assert found.vein(piece).length_mm == 30
    # The points carry their place on the trunk.
    assert (found.vein(piece).from_point, found.vein(piece).to_point) == (
        "trunk@150.0",
        "trunk@180.0",
    )


def test_a_stretch_with_a_mouth_in_it_is_all_its_pieces() -> None:
    found = network_of(vein_map_of(straight_vessel(), side_vein("s", at_mm=160)), (150, 180))
    pieces = found.pieces_in(Stretch(from_mm=150, to_mm=180))
    assert sorted(found.trunk_arcs_mm[piece] for piece in pieces) == [(150, 160), (160, 180)]


def test_the_widest_shaft_of_a_microcatheter_decides_what_passes() -> None:
    # Practitioner's review 4 and 9: a microcatheter counts, by its widest shaft.
    fine = replace(micro(2.7), outer_distal_fr=2.0)
    kit = Kit(catheters=(catheter(5),), microcatheters=(fine,))
    tube = smallest_tube(delivery_ways(kit, PROTOCOL))
    assert tube is not None
    assert (tube.id, tube.outer_fr) == ("micro", 2.7)


def test_a_microcatheter_that_no_catheter_takes_does_not_count() -> None:
    # REVIEW 9: 3 F is 1.00 mm and does not pass 0.038 in (0.965 mm).
    kit = Kit(catheters=(catheter(5, lumen_inch=0.038),), microcatheters=(micro(3.0),))
    tube = smallest_tube(delivery_ways(kit, PROTOCOL))
    assert tube is not None
    assert tube.id == "catheter"


def test_a_device_that_is_not_on_the_shelf_does_not_count() -> None:
    gone = replace(micro(2.7), shelf_count=0)
    kit = Kit(catheters=(catheter(5),), microcatheters=(gone,))
    tube = smallest_tube(delivery_ways(kit, PROTOCOL))
    assert tube is not None
    assert tube.id == "catheter"


def test_the_shelf_outweighs_the_width_in_the_marks_and_says_so() -> None:
    thin = replace(MARKS, outer_diameter_mm=0.5)
    found = network_of(vein_map_of(straight_vessel()), marks=thin)
    # 2.7 F is the demo's smallest: 2.7 / 3 = 0.90 mm.
    assert found.network.catheter.outer_diameter_mm == pytest.approx(0.9)
    assert fr_to_mm(2.7) == pytest.approx(0.9)
    assert any("the marks say 0.50 mm, which was not used" in one for one in found.assumptions)


def test_an_empty_shelf_goes_by_the_marks_or_shows_no_network() -> None:
    empty = delivery_ways(Kit(), PROTOCOL)
    vein_map = vein_map_of(straight_vessel())
    by_marks = plan_network(vein_map, MARKS, empty, [])
    assert isinstance(by_marks, PlanNetwork)
    assert by_marks.network.catheter.outer_diameter_mm == 0.9
    none = plan_network(vein_map, None, empty, [])
    assert isinstance(none, NoNetwork)
    assert "no catheter on the shelf" in none.why


def test_without_the_ostium_nothing_of_the_network_is_shown() -> None:
    # REVIEW.md, third situation: "not shown: inject the renal vein with Valsalva".
    found = plan_occlusion(vein_map_of(straight_vessel(), ostium_mm=None), KIT, PROTOCOL)
    assert found.least_closure is None
    assert found.pathways_left is None
    advisory = said(found, "pathways-not-worked-out")
    assert "Not shown: inject the renal vein with Valsalva" in advisory.text
    assert advisory.missing == ("ostium (landmarks.ostium)",)
    assert found.techniques is not None
    assert all(row.closure.complete is None for row in found.techniques.rows)
    assert all(row.residual_text == "not worked out" for row in found.techniques.rows)


def test_an_inflow_that_the_operator_marks_stands_in_for_the_ostium() -> None:
    hilar = FarEnd(signed=SIGNED, vessel="h", own_end=OwnEnd.END, kind=PointKind.INFLOW)
    vein_map = vein_map_of(straight_vessel(), side_vein("h", at_mm=30), ostium_mm=None)
    found = network_of(vein_map, marks=replace(MARKS, far_ends=(hilar,)))
    assert found.network.inflows == {"h@0.5"}


def test_a_vein_without_any_calibre_leaves_the_plan_standing_and_says_what_is_missing() -> None:
    blind = replace(side_vein("s", at_mm=90), diameter_mm=(None, None), diameter_sd_mm=(None, None))
    found = plan(blind)
    assert found.least_closure is None
    assert len(found.levels) == 3
    assert "vessels, s: no calibre near" in said(found, "pathways-not-worked-out").text


def test_a_trunk_of_one_sample_gives_no_network_and_no_error() -> None:
    trunk = straight_vessel(length_mm=0.0)
    found = plan_occlusion(vein_map_of(trunk, floor_mm=None), KIT, PROTOCOL)
    assert found.least_closure is None
    assert said(found, "pathways-not-worked-out").missing


def test_a_mark_that_does_not_fit_is_refused() -> None:
    wrong = replace(MARKS, protected=(Protected(signed=SIGNED, vessel="none"),))
    with pytest.raises(MarksDoNotFit, match="protected 1, vessel: not on the map"):
        plan(marks=wrong)


def test_the_least_closure_stands_on_the_plan_and_says_that_it_is_not_the_plan() -> None:
    found = plan(side_vein("s", at_mm=90))
    assert found.least_closure is not None
    # One place shuts a single trunk; the smallest outflow side is that of its lowest piece above
    # the ramus, 90 to 190 mm.
    assert found.least_closure.complete
    assert found.pathways_left is not None
    places = found.pathways_left.places
    assert [places[id] for id in found.least_closure.occlude] == ["trunk 90 to 190 mm"]
    assert any("Nobody has marked" in one for one in found.least_closure.assumptions)
    advisory = said(found, "least-closure")
    assert "1 place would shut every pathway" in advisory.text
    assert "The least is not the plan: recurrence comes from veins that nobody saw" in advisory.text


def test_a_duplicate_past_every_level_is_the_pathway_left_open() -> None:
    # By hand: the upper zone is 20 to 50 mm, the distal one 150 to 180 mm; it passes both by.
    found = plan(duplicate("d", from_mm=10, to_mm=185))
    assert found.pathways_left is not None
    assert [path[1] for path in found.pathways_left.open_pathways] == ["d"]
    assert found.pathways_left.text == (
        "1 pathway stays open: trunk 0 to 10 mm > d > trunk 185 to 200 mm."
    )
    advisory = said(found, "levels-leave-open")
    assert advisory.urgency is Urgency.STOP_AND_THINK
    assert "Sclerosant can close what a coil cannot reach" in advisory.text


def test_a_vein_narrower_than_the_smallest_device_is_not_reached() -> None:
    # 0.8 mm against the demo's 2.7 F (0.90 mm).
    thin = replace(side_vein("thin", at_mm=90), diameter_mm=(0.8, 0.8), diameter_sd_mm=(0.1, 0.1))
    advisory = said(plan(thin), "veins-not-reached")
    assert "thin" in advisory.text
    assert "Sclerosant can close what a coil cannot reach" in advisory.text


def test_a_level_on_a_protected_stretch_stops_for_thought_and_is_not_shut() -> None:
    kept = Protected(signed=SIGNED, vessel="trunk", from_mm=140.0, to_mm=185.0)
    found = plan(marks=replace(MARKS, protected=(kept,)))
    assert said(found, "level-on-protected-vein").urgency is Urgency.STOP_AND_THINK
    assert found.pathways_left is not None
    assert [found.pathways_left.places[id] for id in found.pathways_left.closed] == [
        "trunk 20 to 50 mm"
    ]


def test_a_network_without_a_pathway_never_looks_shut() -> None:
    nowhere = FarEnd(signed=SIGNED, vessel="trunk", own_end=OwnEnd.END, kind=PointKind.END)
    apart = Channel(
        signed=SIGNED,
        new_id="apart",
        seen_by=SeenBy.FLUOROSCOPY,
        from_place=NewPoint(name="a", kind=PointKind.END),
        to_place=NewPoint(name="plexus", kind=PointKind.OUTFLOW),
        length_mm=30.0,
        diameter_mm=2.0,
        diameter_sd_mm=0.5,
        may_occlude=True,
    )
    found = plan(marks=replace(MARKS, far_ends=(nowhere,), channels=(apart,)))
    assert said(found, "levels-leave-open").urgency is Urgency.STOP_AND_THINK
    assert "how blood runs down is not shown" in said(found, "levels-leave-open").text
    assert said(found, "least-closure").urgency is Urgency.CAUTION
    assert found.techniques is not None
    assert all(row.closure.complete is None for row in found.techniques.rows)


def test_pieces_of_the_trunk_that_follow_each_other_are_told_as_one() -> None:
    found = network_of(
        vein_map_of(straight_vessel(), duplicate("d", from_mm=60, to_mm=120)), (150, 180)
    )
    paths = [pathway_words(found, p) for p in open_pathways(found.network, frozenset()).paths]
    assert sorted(paths) == ["trunk 0 to 200 mm", "trunk 0 to 60 mm > d > trunk 120 to 200 mm"]


@settings(deadline=None, max_examples=40)
@given(
    mouths=st.lists(st.tuples(st.integers(1, 95), st.integers(100, 189)), max_size=4),
    zones=st.lists(st.integers(0, 160), min_size=2, max_size=4, unique=True),
)
def test_adding_a_level_never_leaves_more_pathways_open(
    mouths: list[tuple[int, int]], zones: list[int]
) -> None:
    """A law: a path that avoids more closed veins avoids fewer of them too."""
    vessels = [duplicate(f"d{n}", from_mm=a, to_mm=b) for n, (a, b) in enumerate(mouths)]
    stretches = [Stretch(from_mm=at, to_mm=at + 20.0) for at in zones]
    found = network_of(
        vein_map_of(straight_vessel(), *vessels), *((s.from_mm, s.to_mm) for s in stretches)
    )
    closed: frozenset[str] = frozenset()
    before = set(open_pathways(found.network, closed).paths)
    for stretch in stretches:
        closed |= found.may_close(found.pieces_in(stretch))
        after = set(open_pathways(found.network, closed).paths)
        assert after <= before
        before = after
