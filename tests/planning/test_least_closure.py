"""The least closure on networks small enough to be worked out by hand."""

from dataclasses import replace

import pytest

from coilwright.planning.least_closure import least_closure
from coilwright.planning.open_pathways import MOST_LISTED
from planning.closure_by_trial import network_of, vein


def test_a_duplicate_is_closed_with_the_trunk_beside_it_where_that_is_cheaper() -> None:
    # Below the duplicate one vein would do, but it costs 3; the two beside each other cost 2.
    network = network_of(
        "in> a b out!",
        vein("upper", "in a", cost=5),
        vein("trunk", "a b"),
        vein("duplicate", "a b"),
        vein("lower", "b out", cost=3),
    )
    answer = least_closure(network)
    assert (answer.complete, answer.cost) == (True, 2.0)
    assert answer.occlude == ("duplicate", "trunk")
    assert (answer.open_pathways, answer.residual_conductance_share) == ((), 0.0)


def test_of_equally_cheap_closures_the_one_nearest_the_outflow_is_taken() -> None:
    # Each of the three veins shuts the path at cost 1; below "lower" one point is left, not three.
    network = network_of(
        "in> a b out!", vein("upper", "in a"), vein("middle", "a b"), vein("lower", "b out")
    )
    assert least_closure(network).occlude == ("lower",)


def test_decimals_that_binary_numbers_cannot_hold_make_a_tie_all_the_same() -> None:
    # 0.1 + 0.2 is 0.3 on paper and 0.30000000000000004 in binary: a tie, which the lower wins.
    network = network_of(
        "in> a out!",
        vein("one", "a out", cost=0.1),
        vein("two", "a out", cost=0.2),
        vein("upper", "in a", cost=0.3),
    )
    answer = least_closure(network)
    assert set(answer.occlude) == {"one", "two"}
    assert answer.cost == 0.3


def test_a_vein_in_spasm_is_judged_by_its_relaxed_calibre() -> None:
    tight = vein("trunk", "in out", diameter_mm=0.5, relaxed_mm=0.9)
    assert least_closure(network_of("in> out!", tight)).occlude == ("trunk",)
    unknown = replace(tight, relaxed_diameter_mm=None)
    answer = least_closure(network_of("in> out!", unknown))
    assert (answer.complete, answer.occlude, answer.unreachable) == (False, (), ("trunk",))
    assert (answer.open_pathways, answer.residual_conductance_share) == ((("trunk",),), 1.0)


def test_a_vein_may_be_closed_from_its_far_end_and_passed_though_protected() -> None:
    # "hair" bars the way from above; the catheter comes round by the protected vein.
    network = network_of(
        "in> a out! door.",
        vein("hair", "in a", diameter_mm=0.3),
        vein("way", "door a", may_occlude=False),
        vein("lower", "a out"),
        enters_at="door",
    )
    answer = least_closure(network)
    assert answer.occlude == ("lower",)
    assert answer.unreachable == ("hair",)


def test_a_vein_beyond_what_the_catheter_passes_is_unreachable_however_wide() -> None:
    network = network_of(
        "in> a b out!",
        vein("hair", "in a", diameter_mm=0.3),
        vein("wide", "a b", diameter_mm=8.0),
        vein("lower", "b out", diameter_mm=8.0),
    )
    answer = least_closure(network)
    assert not answer.complete
    assert answer.unreachable == ("hair", "lower", "wide")


def test_nothing_is_closed_where_no_path_leads_from_inflow_to_outflow() -> None:
    network = network_of("in> other> a out!", vein("v1", "in a"), vein("v2", "other a"))
    answer = least_closure(network)
    assert (answer.complete, answer.cost, answer.occlude) == (True, 0.0, ())
    assert answer.residual_conductance_share == 0.0


def test_where_one_pathway_must_stay_the_others_are_closed_at_least_cost() -> None:
    # The protected vein conducts 3^4 / 10 = 8.1. Beside it the series "upper" and "lower" conducts
    # 4.05 and is shut once. After over before: 8.1 / (8.1 + 4.05) = 2/3.
    network = network_of(
        "in> a out!",
        vein("kept", "in out", may_occlude=False),
        vein("upper", "in a", cost=2),
        vein("lower", "a out", cost=1),
    )
    answer = least_closure(network)
    assert (answer.complete, answer.occlude, answer.cost) == (False, ("lower",), 1.0)
    assert answer.open_pathways == (("kept",),)
    assert answer.residual_conductance_share == pytest.approx(2 / 3, rel=1e-12)


def test_a_balanced_bridge_carries_nothing_and_is_left_open() -> None:
    # Wheatstone: both arms divide 1 to 2, so the bridge between their middles carries no flow.
    arms = [
        vein("a1", "in a", length_mm=10, may_occlude=False),
        vein("a2", "a out", length_mm=20, may_occlude=False),
        vein("b1", "in b", length_mm=30, may_occlude=False),
        vein("b2", "b out", length_mm=60, may_occlude=False),
    ]
    balanced = network_of("in> a b out!", *arms, vein("bridge", "a b"))
    assert least_closure(balanced).occlude == ()
    arms[3] = replace(arms[3], length_mm=61.0)
    assert least_closure(network_of("in> a b out!", *arms, vein("bridge", "a b"))).occlude == (
        "bridge",
    )


def test_a_star_between_three_potentials_keeps_its_dearest_arm() -> None:
    # in - a - out stays open, a at a third of the way; the star's middle may keep one arm only.
    network = network_of(
        "in> a out! star",
        vein("k1", "in a", length_mm=10, may_occlude=False),
        vein("k2", "a out", length_mm=20, may_occlude=False),
        vein("s1", "in star", cost=2),
        vein("s2", "a star", cost=5),
        vein("s3", "out star", cost=3),
    )
    answer = least_closure(network)
    assert set(answer.occlude) == {"s1", "s3"}
    assert answer.cost == 5.0


def test_the_farther_of_two_veins_is_placed_first() -> None:
    # The protected vein keeps a path open; each duplicate beside it is closed once.
    network = network_of(
        "in> a out!",
        vein("near-kept", "in a", may_occlude=False),
        vein("far-kept", "a out", may_occlude=False),
        vein("near", "in a"),
        vein("far", "a out"),
    )
    assert least_closure(network).occlude == ("far", "near")


def test_a_ladder_of_too_many_paths_is_cut_short_and_says_so() -> None:
    # Eleven rungs of two parallel protected veins: 2^11 = 2048 paths.
    names = ["in", *(f"p{i}" for i in range(10)), "out"]
    veins = [
        vein(f"{side}{i}", f"{names[i]} {names[i + 1]}", may_occlude=False)
        for i in range(11)
        for side in "ab"
    ]
    points = " ".join(["in>", *names[1:-1], "out!"])
    answer = least_closure(network_of(points, *veins))
    assert answer.open_pathways_cut_short
    assert len(answer.open_pathways) == MOST_LISTED
    assert len(set(answer.open_pathways)) == MOST_LISTED


def test_closing_for_a_billionth_of_the_flow_is_not_asked_for() -> None:
    # "hair" adds (0.2 / 8)^4 / 1000 of the flow of "kept", 4e-10: it cannot be told.
    network = network_of(
        "in> out!",
        vein("kept", "in out", diameter_mm=8.0, length_mm=1.0, may_occlude=False),
        vein("hair", "in out", diameter_mm=0.2, length_mm=1000.0),
        outer_mm=0.2,
    )
    assert least_closure(network).occlude == ()
