"""What options might leave, against closed forms of small networks and laws of all."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import norm

from coilwright.advice import Status, Urgency
from coilwright.planning.divided_vein import divided
from coilwright.planning.hydrostatic_head import Column
from coilwright.planning.look_here import Stretch
from coilwright.planning.network_flow import conductance_of
from coilwright.planning.reflux_draws import drawn_calibres
from coilwright.planning.reflux_network import reflux_network
from coilwright.planning.residual_band import BANDS, residual_band
from coilwright.planning.residual_reflux import ResidualComparison, compare_residual
from coilwright.planning.unseen_channels import UnseenPrior, candidates_of, unseen_conductances_mm3
from coilwright.protocol import Protocol
from coilwright.veins.vein_network import VeinNetwork
from planning.reflux_networks import (
    TWO_WAYS_IN,
    Row,
    network_of,
    protocol_with,
    random_network,
)

STANDING = Column(length_mm=300.0, length_sd_mm=15.0, tilt_deg=90.0, projected=True)
NOTHING, LITTLE, PART, MOST = BANDS
ONE_VEIN: tuple[Row, ...] = (("trunk", "renal", "plexus", 300, 5.0),)
DRAWS = 20_000
# Four standard errors of a share of one half at that many draws.
FOUR_ERRORS = 4 * math.sqrt(0.25 / DRAWS)


def compared(
    network: VeinNetwork,
    options: dict[str, set[str]],
    protocol: Protocol | None = None,
    *,
    scale_relative_sd: float = 0.0,
    draws: int = DRAWS,
    column: Column = STANDING,
    seed: int = 11,
) -> ResidualComparison:
    """A comparison; without a protocol the one in which nothing is unseen."""
    return compare_residual(
        network,
        {name: frozenset(shut) for name, shut in options.items()},
        protocol or protocol_with(unseen_channels_mean=0.0),
        column=column,
        scale_relative_sd=scale_relative_sd,
        draws=draws,
        generator=np.random.default_rng(seed),
    )


def bands(answer: ResidualComparison, option: int = 0) -> dict[str, float]:
    return {one.band: one.share_of_draws for one in answer.options[option].bands}


def test_complete_closure_leaves_nothing_where_nothing_is_unseen() -> None:
    network = network_of(TWO_WAYS_IN, relative_sd=0.2)
    answer = compared(network, {"both": {"last", "side"}}, draws=500)
    assert bands(answer) == {NOTHING: 1.0, LITTLE: 0.0, PART: 0.0, MOST: 0.0}


def test_closing_nothing_leaves_most_of_it_in_every_draw() -> None:
    network = network_of(TWO_WAYS_IN, relative_sd=0.2)
    answer = compared(network, {"none": set()}, protocol_with(), draws=500)
    assert bands(answer) == {NOTHING: 0.0, LITTLE: 0.0, PART: 0.0, MOST: 1.0}


def test_a_single_closed_vein_stays_shut_as_often_as_no_channel_was_missed() -> None:
    # Poisson: none of a mean of 0.5 with probability exp(-0.5); only one place is possible here.
    answer = compared(network_of(ONE_VEIN), {"shut": {"trunk"}}, protocol_with())
    assert bands(answer)[NOTHING] == pytest.approx(math.exp(-0.5), abs=FOUR_ERRORS)


def test_bands_hold_as_many_draws_as_the_lognormal_says() -> None:
    # Two equal veins side by side, one shut: the share is 1 / (1 + (b / a)^4). With logarithmic
    # standard deviation s each, ln (b / a)^4 is normal with 4 s sqrt 2, so that the share is
    # under 0.1 where it exceeds ln 9 and under 0.5 in one half.
    relative_sd = 0.3
    rows: tuple[Row, ...] = (
        ("a", "renal", "plexus", 300, 4.0),
        ("b", "renal", "plexus", 300, 4.0),
    )
    answer = compared(network_of(rows, relative_sd=relative_sd), {"b shut": {"b"}})
    spread = 4 * math.sqrt(2) * math.sqrt(math.log(1 + relative_sd**2))
    little = float(norm.sf(math.log(9) / spread))
    assert bands(answer)[LITTLE] == pytest.approx(little, abs=FOUR_ERRORS)
    assert bands(answer)[PART] == pytest.approx(0.5 - little, abs=FOUR_ERRORS)
    assert bands(answer)[MOST] == pytest.approx(0.5, abs=FOUR_ERRORS)


def test_the_scales_error_is_common_and_cancels_between_known_veins() -> None:
    # Calibres 3 and 4: 81 / (81 + 256) = 0.24 is left whatever the scale; drawn apart for each
    # vein, an error of 30 % would put many draws below 0.1 (see the test before).
    rows: tuple[Row, ...] = (
        ("a", "renal", "plexus", 300, 3.0),
        ("b", "renal", "plexus", 300, 4.0),
    )
    network = network_of(rows, relative_sd=0.3)
    assert bands(compared(network, {"b": {"b"}}, scale_relative_sd=0.3))[PART] == 1.0
    assert bands(compared(network, {"b": {"b"}}, scale_relative_sd=0.0))[PART] < 0.9


def test_drawn_calibres_have_the_stated_deviation_and_scale_lengths_with_them() -> None:
    # Lognormal with relative deviation v: standard deviation of the logarithm sqrt(ln(1 + v^2)).
    network = network_of(ONE_VEIN, relative_sd=0.2)
    drawn = drawn_calibres(
        network.veins,
        scale_relative_sd=0.12,
        draws=DRAWS,
        generator=np.random.default_rng(3),
    )
    own = math.log(1 + 0.2**2 - 0.12**2)
    expected = math.sqrt(own + math.log(1 + 0.12**2))
    assert float(np.std(np.log(drawn.diameters_mm))) == pytest.approx(expected, rel=0.03)
    assert float(np.median(drawn.diameters_mm)) == pytest.approx(5.0, rel=0.01)
    lengths_mm = drawn.diameters_mm[0] ** 4 / drawn.conductances_mm3[0]
    np.testing.assert_allclose(lengths_mm, 300.0 * drawn.scale, rtol=1e-12)


def test_a_vein_in_spasm_is_taken_at_its_relaxed_calibre() -> None:
    # Fact of the trade: a vein in spasm looks far smaller than it is. By hand: 2 mm that relaxes
    # to 4 beside 4 of the same length, the other shut: one half is left, not 16 / 272.
    rows: tuple[Row, ...] = (
        ("a", "renal", "plexus", 300, 2.0),
        ("b", "renal", "plexus", 300, 4.0),
    )
    network = network_of(rows)
    tight, other = network.veins
    relaxed = replace(network, veins=(replace(tight, relaxed_diameter_mm=4.0), other))
    assert bands(compared(network, {"b": {"b"}}, draws=10))[LITTLE] == 1.0
    assert bands(compared(relaxed, {"b": {"b"}}, draws=10))[MOST] == 1.0


def test_shutting_more_never_leaves_more_in_any_draw() -> None:
    # Rayleigh's law on paired draws: options nested in one another.
    network = random_network(4, inner=8, veins=16)
    options = {"one": {"v2"}, "two": {"v2", "v5"}, "three": {"v2", "v5", "v9"}}
    answer = compared(network, options, protocol_with(unseen_channels_mean=1.0), draws=2000)
    less = {(pair.option, pair.other): pair.leaves_less for pair in answer.pairs}
    assert less["one", "two"] == less["two", "three"] == less["one", "three"] == 0.0
    assert less["three", "one"] > 0.5


def test_two_options_of_the_same_veins_leave_the_same_in_every_draw() -> None:
    network = random_network(5, inner=8, veins=16)
    answer = compared(network, {"a": {"v1"}, "b": {"v1"}}, protocol_with(), draws=1000)
    assert all(pair.leaves_the_same == 1.0 for pair in answer.pairs)


def test_two_levels_are_safer_than_one_against_what_nobody_saw() -> None:
    # Practitioner's review, truth and safety 4: a distal level and an upper one. A channel that
    # rejoins between the two is caught by the distal one.
    network = divided(network_of(ONE_VEIN), "trunk", [60.0, 120.0, 180.0, 240.0])
    options = {"upper": {"trunk/1"}, "both": {"trunk/1", "trunk/5"}}
    answer = compared(network, options, protocol_with(unseen_channels_mean=1.0), draws=4000)
    assert bands(answer, 1)[NOTHING] > bands(answer, 0)[NOTHING] + 0.1


def test_the_same_seed_gives_the_same_answer_and_another_seed_another() -> None:
    first, again, other = (
        compared(network_of(ONE_VEIN), {"a": {"trunk"}}, protocol_with(), draws=700, seed=seed)
        for seed in (1, 1, 2)
    )
    assert first == again
    assert first.options[0].bands != other.options[0].bands


def test_unseen_channels_come_as_many_and_as_wide_as_the_prior_says() -> None:
    # Mean of a Poisson number; with one place and at most few channels, the median of calibre
    # is read from draws that hold exactly one (their d^4 over length is a lognormal's).
    network = network_of(ONE_VEIN)
    prior = UnseenPrior(
        mean_number=0.2, median_calibre_mm=1.5, calibre_spread=1.5, length_ratio=1.2
    )
    found = unseen_conductances_mm3(
        candidates_of(network, 1.2), prior, np.ones(DRAWS), np.random.default_rng(2)
    )[0]
    assert float(np.mean(found > 0)) == pytest.approx(1 - math.exp(-0.2), abs=FOUR_ERRORS)
    # One in ten of these draws holds two channels, which lifts the median a little: 5 %.
    calibre_mm = (found[found > 0] * 360.0) ** 0.25
    assert float(np.median(calibre_mm)) == pytest.approx(1.5, rel=0.05)


def test_an_unseen_channel_is_longer_where_the_scale_makes_the_known_way_longer() -> None:
    # By hand: the same draws with every known length twice as long conduct half.
    places = candidates_of(network_of(ONE_VEIN), 1.2)
    prior = UnseenPrior(
        mean_number=2.0, median_calibre_mm=1.5, calibre_spread=1.5, length_ratio=1.2
    )
    once, twice = (
        unseen_conductances_mm3(places, prior, np.full(50, scale), np.random.default_rng(2))
        for scale in (1.0, 2.0)
    )
    assert once.any()
    np.testing.assert_allclose(twice, once / 2, rtol=1e-12)


def test_look_here_counts_the_channel_in_what_ran_before_too() -> None:
    narrow = network_of((("trunk", "renal", "plexus", 300, 2.0),))
    # By hand: the vein conducts 16 / 300 = 0.0533, the channel 1.95^4 / 360 = 0.0402: 0.43 of both
    # together, part of it. Over the vein alone it would be 0.75, most of it.
    answer = compared(
        narrow, {"shut": {"trunk"}}, protocol_with(unseen_channel_calibre=1.95), draws=10
    )
    assert answer.options[0].look_here[0].band == residual_band(0.43) == PART


def test_a_channel_between_two_inflows_is_no_candidate() -> None:
    candidates = candidates_of(network_of(TWO_WAYS_IN), 1.2)
    places = {frozenset((one.one, one.other)): one.length_mm for one in candidates}
    assert frozenset(("renal", "hilum")) not in places
    # 6 points make 15 twos. By hand, the shortest way from the renal vein to the plexus is
    # 30 + 80 + 100 + 60 mm, shorter than by the duplicate (290) or the side vein (290).
    assert len(places) == 14
    assert places[frozenset(("renal", "plexus"))] == pytest.approx(1.2 * 270.0)


def test_look_here_names_the_shortest_way_round_the_closure_first() -> None:
    # By hand: the trunk shut in its middle third. A channel of c from above to below, in a row
    # with what is left of the trunk: its shortest leg, trunk@100 to trunk@200, conducts most.
    network = divided(network_of(ONE_VEIN), "trunk", [100.0, 200.0])
    answer = compared(network, {"middle": {"trunk/2"}}, protocol_with(), draws=10)
    first = answer.options[0].look_here[0]
    assert (first.leaves, first.rejoins) == ("trunk@100", "trunk@200")
    assert (first.leaves_stretch, first.rejoins_stretch) == (Stretch.ABOVE, Stretch.BELOW)
    # 1.5^4 / 120 in a row with 625 / 100 twice, over 625 / 300 beside it before: 2 %.
    assert first.band == residual_band(0.02) == LITTLE


def test_look_here_agrees_with_each_channel_put_into_the_network_by_hand() -> None:
    network, shut = network_of(TWO_WAYS_IN), frozenset({"last", "side"})
    answer = compared(network, {"both": set(shut)}, protocol_with(), draws=10)
    best = []
    for one in candidates_of(network, 1.2):
        rows = [row for row in TWO_WAYS_IN if row[0] not in shut]
        rows += [("new", one.one, one.other, one.length_mm, 1.5), ("-", "plexus", "x", 1, 1)]
        reflux = reflux_network(network_of(rows), 1.2)
        known = reflux.as_given_mm3(frozenset())[:, None]
        best.append((conductance_of(reflux.reduction(frozenset()), known)[0], one))
    best.sort(key=lambda pair: -pair[0])
    expected = [{one.one, one.other} for conducts, one in best if conducts > 0][:5]
    assert [{p.leaves, p.rejoins} for p in answer.options[0].look_here] == expected


def test_a_wide_standing_vein_is_said_to_be_beyond_the_laminar_model() -> None:
    # CLINICAL.md section 10: 5 mm over 30 cm at 1 mmHg has Re 150 at 3.5 mPa s, and Re goes with
    # the pressure over the viscosity squared; 23.2 + 7.5 - 15 mmHg and 4 mPa s make about 1800,
    # and 8 mm (d^3) more than 7000.
    wide = network_of((("trunk", "renal", "plexus", 300, 8.0),))
    column = replace(STANDING, length_sd_mm=0.0)
    fast = compared(wide, {"none": set()}, draws=10, column=column)
    slow = compared(network_of(ONE_VEIN), {"none": set()}, draws=10, column=column)
    assert fast.beyond_laminar_before == fast.options[0].beyond_laminar == ("trunk",)
    assert slow.beyond_laminar_before == ()
    rules = [one.rule for one in fast.advisories]
    assert "residual-reflux-laminar" in rules
    assert "residual-reflux-laminar" not in [one.rule for one in slow.advisories]


def test_what_is_assumed_and_not_validated_is_said_with_every_comparison() -> None:
    answer = compared(network_of(ONE_VEIN), {"shut": {"trunk"}}, protocol_with(), draws=10)
    said = {one.rule: one for one in answer.advisories}
    assert "validated by nobody" in said["residual-reflux-bands"].text
    assert said["residual-reflux-bands"].status is Status.FROM_MEMORY
    unseen = said["residual-reflux-unseen"]
    assert unseen.status is Status.FROM_MEMORY
    assert "assumed here, not measured" in unseen.text
    assert "not signed off" in unseen.text
    assert "at least that long" in said["residual-reflux-column"].text


def test_lying_flat_blood_is_said_to_run_upwards() -> None:
    flat = Column(length_mm=300.0, length_sd_mm=15.0, tilt_deg=0.0, projected=False)
    answer = compared(network_of(ONE_VEIN), {"none": set()}, draws=10, column=flat)
    said = {one.rule: one for one in answer.advisories}
    assert "In 100 % of the draws" in said["residual-reflux-column"].text


def test_a_network_without_a_way_down_gives_a_stop_and_no_comfort() -> None:
    rows: tuple[Row, ...] = (
        ("hilar", "renal", "upper", 30, 5.0),
        ("last", "ring", "plexus", 60, 3.5),
    )
    answer = compared(network_of(rows), {"none": set()}, draws=10)
    said = {one.rule: one for one in answer.advisories}
    assert said["residual-reflux-no-way"].urgency is Urgency.STOP_AND_THINK
    assert said["residual-reflux-no-way"].missing


def test_no_flow_is_ever_among_the_results() -> None:
    # Practitioner's review, truth and safety 8: bands alone.
    answer = compared(network_of(TWO_WAYS_IN), {"a": {"trunk-2"}}, protocol_with(), draws=10)
    assert all(one.value is None for one in answer.advisories)
    assert "mL/s" not in repr(answer)


@pytest.mark.parametrize(
    ("options", "draws", "scale", "sentence"),
    [
        ({}, 10, 0.0, "at least one option"),
        ({"a": {"trunk"}}, 0, 0.0, "at least one draw"),
        ({"a": {"trunk"}}, 10, -0.1, "must be 0 to 1"),
        ({"a": {"trunk"}}, 10, math.nan, "must be 0 to 1"),
        ({"a": {"other"}}, 10, 0.0, "option a shuts other, which is no vein"),
    ],
)
def test_a_comparison_that_makes_no_sense_is_refused(
    options: dict[str, set[str]], draws: int, scale: float, sentence: str
) -> None:
    with pytest.raises(ValueError, match=sentence):
        compared(network_of(ONE_VEIN), options, draws=draws, scale_relative_sd=scale)


def test_an_option_that_shuts_a_protected_vein_is_refused() -> None:
    network = network_of(ONE_VEIN)
    kept = replace(network, veins=(replace(network.veins[0], may_occlude=False),))
    with pytest.raises(ValueError, match="trunk, which must stay open"):
        compared(kept, {"a": {"trunk"}}, draws=10)


def test_a_divided_vein_conducts_as_before() -> None:
    # Resistances in a row add: any cuts leave 625 / 300.
    network = divided(network_of(ONE_VEIN), "trunk", [40.0, 250.0])
    reflux = reflux_network(network, 1.2)
    known = reflux.as_given_mm3(frozenset())[:, None]
    conducts = conductance_of(reflux.reduction(frozenset()), known)[0]
    assert conducts == pytest.approx(625 / 300, rel=1e-12)
    assert [vein.id for vein in network.veins] == ["trunk/1", "trunk/2", "trunk/3"]


@pytest.mark.parametrize(
    ("vein", "at_mm", "sentence"),
    [("other", 10.0, "no vein of the network"), ("trunk", 300.0, "must lie inside its 300 mm")],
)
def test_a_cut_outside_the_vein_is_refused(vein: str, at_mm: float, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        divided(network_of(ONE_VEIN), vein, [at_mm])
