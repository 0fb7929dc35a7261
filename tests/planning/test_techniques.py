"""Techniques beside each other: what each shuts, leaves, fills, implants and costs."""

from dataclasses import replace
from datetime import date

import pytest

from coilwright.advice import Advisory, Status, Urgency
from coilwright.kit import Kit
from coilwright.planning import NetworkMarks, OcclusionPlan, Technique, TechniqueRow, plan_occlusion
from coilwright.planning.network_marks import FarEnd, Protected
from coilwright.planning.residual_band import BANDS
from coilwright.planning.residual_reflux import BandShare
from coilwright.planning.technique_parts import filled_alone
from coilwright.planning.technique_reflux import DRAWS, SEED, column_of, residual_words
from coilwright.protocol import Protocol, load_protocol
from coilwright.veins import OwnEnd, VeinMap, Vessel
from coilwright.veins.vein_network import PointKind
from planning.straight_trunks import demo_kit, mark_at, side_vein, straight_vessel, vein_map_of
from planning.trunk_networks import MARKS, SIGNED, duplicate

PROTOCOL = load_protocol()
KIT = demo_kit()
ON = date(2026, 3, 12)
# On the plain trunk the upper zone is 20 to 50 mm, the distal one 150 to 180 mm.


def plan(
    *vessels: Vessel,
    kit: Kit = KIT,
    protocol: Protocol = PROTOCOL,
    marks: NetworkMarks | None = None,
    advisories: tuple[Advisory, ...] = (),
    vein_map: VeinMap | None = None,
) -> OcclusionPlan:
    seen = vein_map_of(straight_vessel(), *vessels) if vein_map is None else vein_map
    return plan_occlusion(seen, kit, protocol, advisories=advisories, on=ON, marks=marks)


def row(found: OcclusionPlan, technique: Technique) -> TechniqueRow:
    assert found.techniques is not None
    wanted = found.techniques.row(technique)
    assert wanted is not None
    return wanted


def shut_places(found: OcclusionPlan, technique: Technique) -> set[str]:
    assert found.pathways_left is not None
    return {found.pathways_left.places[id] for id in row(found, technique).closure.shuts}


def said_against(found: OcclusionPlan, technique: Technique) -> str:
    return "; ".join(one.text for one in row(found, technique).against)


def advisory(rule: str, **other: object) -> Advisory:
    given: dict[str, object] = {
        "rule": rule,
        "urgency": Urgency.INFO,
        "text": "as the assessment says it",
        "source": "made up for the test",
        "status": Status.COMPUTED,
    }
    return Advisory(**(given | other))  # type: ignore[arg-type]  # fields by name


def with_prices(kit: Kit, **prices: float) -> Kit:
    """The kit with a price for every coil, and for the sclerosant."""
    return replace(
        kit,
        coils=tuple(replace(coil, price=prices["coil"]) for coil in kit.coils),
        sclerosants=tuple(replace(vial, price=prices.get("vial")) for vial in kit.sclerosants),
    )


def choosing(technique: Technique, *, signed: bool = False) -> Protocol:
    choice = replace(PROTOCOL.choice("closing-technique"), value=technique.value)
    if signed:
        choice = replace(choice, signed_off_by="A. Reader", signed_off_on=date(2026, 1, 2))
    return replace(PROTOCOL, choices={**PROTOCOL.choices, choice.id: choice})


def test_coils_shut_their_own_stretches_and_sclerosant_all_between_them() -> None:
    found = plan(side_vein("s", at_mm=90), duplicate("d", from_mm=80, to_mm=120))
    coils = shut_places(found, Technique.COILS_ALONE)
    assert {"trunk 20 to 50 mm", "trunk 150 to 180 mm"} <= coils
    assert "s" not in coils
    # By hand: everything from 20 to 180 mm, and the two veins that join between 50 and 150 mm.
    both = row(found, Technique.COILS_AND_SCLEROSANT).closure
    places = shut_places(found, Technique.COILS_AND_SCLEROSANT)
    assert {"s", "d"} <= set(both.shuts)
    assert "trunk 0 to 20 mm" not in places
    assert "trunk 180 to 190 mm" not in places
    assert both.complete


def test_sclerosant_alone_fills_from_the_tip_down_to_the_ring_and_not_below_the_ramus() -> None:
    vein_map = vein_map_of(straight_vessel(), tip_mm=100)
    # The ramus is marked at 190 mm; a ring marked at 184 mm is where compression ends it.
    ring = replace(vein_map.landmarks, internal_ring=mark_at(184))
    low_ring = replace(vein_map.landmarks, internal_ring=mark_at(196))
    trunk = vein_map.trunk
    assert trunk is not None
    stretches = [
        filled_alone(replace(vein_map, landmarks=marks), trunk, PROTOCOL)
        for marks in (vein_map.landmarks, ring, low_ring)
    ]
    assert [s and (s.from_mm, s.to_mm) for s in stretches] == [(100, 190), (100, 184), (100, 190)]


def test_a_tip_at_the_ostium_does_not_fill_the_renal_vein() -> None:
    # The protocol's nearest upper end is 20 mm below the ostium.
    vein_map = vein_map_of(straight_vessel(), tip_mm=2)
    trunk = vein_map.trunk
    assert trunk is not None
    found = filled_alone(vein_map, trunk, PROTOCOL)
    assert found is not None
    assert found.from_mm == 20


def test_a_duplicate_that_passes_the_coils_by_is_open_with_coils_alone() -> None:
    # It leaves above the upper zone and rejoins below the distal one.
    found = plan(duplicate("d", from_mm=10, to_mm=185))
    closure = row(found, Technique.COILS_ALONE).closure
    assert closure.complete is False
    assert [path[1] for path in closure.open_pathways] == ["d"]
    # Sclerosant between the levels does not touch it either; from the ring up it does.
    assert row(found, Technique.COILS_AND_SCLEROSANT).closure.complete is False
    assert row(found, Technique.SCLEROSANT_ALONE).closure.complete


def test_sclerosant_closes_what_is_too_narrow_for_a_coil() -> None:
    # REVIEW 4: 0.8 mm lets no 2.7 F (0.90 mm) in; it joins between the levels all the same.
    thin = replace(side_vein("thin", at_mm=100), diameter_mm=(0.8, 0.8))
    assert "thin" in row(plan(thin), Technique.COILS_AND_SCLEROSANT).closure.shuts


def test_a_vein_that_must_stay_open_is_not_counted_shut_and_speaks_against_sclerosant() -> None:
    kept = replace(MARKS, protected=(Protected(signed=SIGNED, vessel="s"),))
    found = plan(side_vein("s", at_mm=100), marks=kept)
    assert "s" not in row(found, Technique.COILS_AND_SCLEROSANT).closure.shuts
    against = said_against(found, Technique.COILS_AND_SCLEROSANT)
    assert "sclerosant could enter s, marked to stay open" in against
    assert "sclerosant could enter" not in said_against(found, Technique.COILS_ALONE)


def test_a_way_back_to_where_blood_enters_speaks_against_sclerosant() -> None:
    hilar = FarEnd(signed=SIGNED, vessel="h", own_end=OwnEnd.END, kind=PointKind.INFLOW)
    found = plan(side_vein("h", at_mm=100), marks=replace(MARKS, far_ends=(hilar,)))
    assert "h" not in row(found, Technique.COILS_AND_SCLEROSANT).closure.shuts
    against = said_against(found, Technique.COILS_AND_SCLEROSANT)
    assert "sclerosant could run through h to where blood enters" in against


def test_a_duplicate_back_above_the_upper_level_speaks_against_sclerosant_between() -> None:
    # It leaves the trunk at 10 mm, above the upper zone, and rejoins at 100 mm, between the levels:
    # past the upper coil there is a way up to the renal vein.
    found = plan(duplicate("d", from_mm=10, to_mm=100))
    against = said_against(found, Technique.COILS_AND_SCLEROSANT)
    assert "sclerosant could run through d to where blood enters" in against
    both = row(found, Technique.COILS_AND_SCLEROSANT).closure
    assert "d" not in both.shuts
    assert both.complete
    inside = plan(duplicate("d", from_mm=60, to_mm=100))
    assert "could run" not in said_against(inside, Technique.COILS_AND_SCLEROSANT)


def test_a_side_vein_to_another_outflow_speaks_against_sclerosant() -> None:
    pelvis = FarEnd(signed=SIGNED, vessel="p", own_end=OwnEnd.END, kind=PointKind.OUTFLOW)
    found = plan(side_vein("p", at_mm=100), marks=replace(MARKS, far_ends=(pelvis,)))
    against = said_against(found, Technique.COILS_AND_SCLEROSANT)
    assert "through p to an outflow that compression at the ring does not bar" in against
    assert "p" in row(found, Technique.COILS_AND_SCLEROSANT).closure.shuts


def test_a_level_with_nothing_to_place_is_not_counted_as_shut() -> None:
    found = plan(kit=replace(KIT, coils=(), plugs=()))
    coils = row(found, Technique.COILS_ALONE)
    assert coils.closure.shuts == ()
    assert coils.closure.complete is False
    assert coils.migration.worst_undersized is None
    assert coils.goods.implants is None
    assert "distal level: nothing of the kit can be placed first" in said_against(
        found, Technique.COILS_ALONE
    )


def test_a_trunk_too_narrow_for_the_catheter_is_not_shown_as_closed_by_coils() -> None:
    # 1.5 mm of trunk against a shelf whose smallest device is 6 F (2.0 mm).
    wide = tuple(replace(tube, outer_fr=6.0) for tube in KIT.catheters[:1])
    kit = replace(KIT, catheters=wide, microcatheters=())
    found = plan(kit=kit, vein_map=vein_map_of(straight_vessel(diameter_mm=1.5)))
    coils = row(found, Technique.COILS_ALONE)
    assert coils.closure.shuts == ()
    assert said_against(found, Technique.COILS_ALONE)
    assert found.least_closure is not None
    assert not found.least_closure.complete


def test_migration_is_the_worst_level_and_any_of_them() -> None:
    found = plan()
    chances = [level.choices[0].probability_undersized for level in found.levels]
    migration = row(found, Technique.COILS_ALONE).migration
    assert len(chances) == 2
    assert migration.worst_undersized == max(chances)
    # 1 - (1 - p)(1 - q) = p + q - p q, worked out on paper.
    expected = chances[0] + chances[1] - chances[0] * chances[1]
    assert migration.any_undersized == pytest.approx(expected, rel=1e-9)
    alone = row(found, Technique.SCLEROSANT_ALONE).migration
    assert (alone.worst_undersized, alone.any_undersized) == (None, None)
    assert "no device is placed" in alone.text


def test_residual_reflux_is_told_in_bands_on_the_same_draws() -> None:
    found = plan(side_vein("s", at_mm=90))
    assert found.techniques is not None
    assert (found.techniques.draws, found.techniques.seed) == (DRAWS, SEED)
    for one in found.techniques.rows[:3]:
        assert [band.band for band in one.residual] == list(BANDS)
        assert sum(band.share_of_draws for band in one.residual) == pytest.approx(1.0)
        assert not any(sign in one.residual_text for sign in ("%", "mL", "mmHg", "0."))
    again = plan(side_vein("s", at_mm=90))
    assert again == found


def test_bands_in_words_name_what_half_and_what_nearly_all_draws_leave() -> None:
    def words(*shares: float) -> str:
        pairs = zip(BANDS, shares, strict=True)
        return residual_words([BandShare(band=b, share_of_draws=s) for b, s in pairs])

    nothing = "nothing of what the network shows"
    assert words(1.0, 0.0, 0.0, 0.0) == f"nineteen of twenty draws: {nothing}"
    assert words(0.0, 0.0, 0.0, 1.0) == "nineteen of twenty draws: most of it or less"
    assert words(0.6, 0.3, 0.1, 0.0) == (
        f"at least half of the draws: {nothing}; nineteen of twenty: part of it or less"
    )


def test_the_column_runs_from_the_ostium_to_the_distal_level_and_is_a_lower_bound() -> None:
    vein_map = vein_map_of(straight_vessel(), ostium_mm=10.0)
    trunk = vein_map.trunk
    assert trunk is not None
    column = column_of(vein_map, trunk, None)
    assert column is not None
    # 200 - 10 mm; the scale's 2 % of it and the mark's 1 mm: sqrt(3.8^2 + 1^2).
    assert column.length_mm == pytest.approx(190.0)
    assert column.length_sd_mm == pytest.approx(15.44**0.5)
    assert column.projected
    assert column.tilt_deg == 90.0


def test_volume_is_an_upper_figure_beside_the_ceilings_of_the_assessment() -> None:
    ceiling = advisory("sts-session-max", limit=4.0, left=3.0, value=1.0, unit="mL")
    volume = row(plan(advisories=(ceiling,)), Technique.COILS_AND_SCLEROSANT).volume
    assert volume.figure is not None
    # pi/4 x 6^2 x 100 mm3 (CLINICAL 4.3): 2.83 mL between 50 and 150 mm.
    assert volume.figure.volume_ml == pytest.approx(2.827, abs=0.001)
    assert "not a dose" in volume.text
    assert [(one.limit_ml, one.left_ml) for one in volume.ceilings] == [(4.0, 3.0)]
    assert "left 3 mL" in volume.text


def test_a_vein_that_may_hold_more_than_is_left_speaks_against_sclerosant() -> None:
    short = advisory("foam-guideline-max", limit=10.0, left=1.0, value=9.0, unit="mL")
    found = plan(advisories=(short,))
    assert "more than is left below 10 mL" in said_against(found, Technique.COILS_AND_SCLEROSANT)
    assert "more than is left" not in said_against(found, Technique.COILS_ALONE)


def test_without_a_named_sclerosant_no_ceiling_is_made_up() -> None:
    volume = row(plan(), Technique.SCLEROSANT_ALONE).volume
    assert volume.ceilings == ()
    assert "the case names no sclerosant" in volume.text


def test_cost_is_null_where_any_price_is_unknown_and_else_the_sum() -> None:
    unpriced = replace(KIT, coils=tuple(replace(coil, price=None) for coil in KIT.coils))
    unknown = row(plan(kit=unpriced), Technique.COILS_ALONE).goods
    assert unknown.cost is None
    assert "not known" in unknown.cost_text
    found = plan(kit=with_prices(KIT, coil=50.0, vial=8.0))
    numbers = [level.choices[0].number for level in found.levels]
    assert numbers == [2, 2]
    assert row(found, Technique.COILS_ALONE).goods.cost == 200.0
    # 2.83 + 2 x 0.34 = 3.5 mL needs two vials of 2 mL: 200 + 2 x 8.
    assert row(found, Technique.COILS_AND_SCLEROSANT).goods.cost == 216.0
    assert row(found, Technique.SCLEROSANT_ALONE).goods.cost == 16.0
    no_vial = plan(kit=with_prices(KIT, coil=50.0))
    assert row(no_vial, Technique.COILS_AND_SCLEROSANT).goods.cost is None


def test_published_recurrence_is_that_of_the_review_and_no_prediction() -> None:
    # Makris GC et al., Br J Radiol 2018;91:20170445, abstract: 9.1 % (898, 39 months), 8.44 %
    # (1628, 12 months), 11.03 % (728, 25 months), glue 4.2 % (251, 16 months).
    found = plan()
    assert found.techniques is not None
    published = {one.technique: one.published for one in found.techniques.rows}
    assert {name: one.percent for name, one in published.items()} == {
        Technique.COILS_ALONE: 9.1,
        Technique.COILS_AND_SCLEROSANT: 8.44,
        Technique.SCLEROSANT_ALONE: 11.03,
        Technique.LIQUID_ADHESIVE: 4.2,
    }
    assert "39 months, 898 treated" in published[Technique.COILS_ALONE].text
    for one in published.values():
        assert one.status is Status.PUBLISHED
        assert "no prediction for this patient" in one.text


def test_a_stop_for_compression_speaks_against_every_technique() -> None:
    # REVIEW 5: the gonadal vein may be the kidney's way out.
    stop = advisory("renal-vein-compression", urgency=Urgency.STOP_AND_THINK, text="stop here")
    quiet = advisory("renal-vein-compression", text="normal")
    stopped, normal = plan(advisories=(stop,)), plan(advisories=(quiet,))
    for technique in Technique:
        assert "stop here" in said_against(stopped, technique)
        assert "normal" not in said_against(normal, technique)


def test_an_allergy_speaks_against_the_technique_that_uses_it() -> None:
    metal = advisory("known-allergy", inputs={"metal": "yes", "contrast": "no"})
    drug = advisory(
        "sclerosant-cautions",
        inputs={"allergy to the sclerosant": "yes", "migraine": "not recorded", "shunt": "no"},
    )
    found = plan(advisories=(metal, drug))
    assert "allergy to metal" in said_against(found, Technique.COILS_ALONE)
    assert "allergy to metal" not in said_against(found, Technique.SCLEROSANT_ALONE)
    alone = said_against(found, Technique.SCLEROSANT_ALONE)
    assert "recorded: allergy to the sclerosant" in alone
    assert "not recorded: migraine" in alone
    assert "sclerosant" not in said_against(found, Technique.COILS_ALONE)


def test_only_sclerosant_needs_compression_and_it_starts_first() -> None:
    # REVIEW 7: compression starts before injection, by a device or the patient.
    found = plan()
    assert not row(found, Technique.COILS_ALONE).compression_needed
    for technique in (Technique.COILS_AND_SCLEROSANT, Technique.SCLEROSANT_ALONE):
        assert row(found, technique).compression_needed
        assert "before the injection starts" in row(found, technique).compression_text
    (said,) = [a for a in found.advisories if a.rule == "sclerosant-between-levels"]
    assert "a test injection of contrast comes first" in said.text
    assert "is in place before the injection starts" in said.text


def test_the_sites_choice_is_marked_and_no_row_is_called_the_best() -> None:
    found = plan(protocol=choosing(Technique.COILS_AND_SCLEROSANT, signed=True))
    assert found.techniques is not None
    marked = [one.technique for one in found.techniques.rows if one.chosen]
    assert marked == [Technique.COILS_AND_SCLEROSANT]
    assert "none is called the best" in found.techniques.text
    assert "not signed off" not in found.techniques.text
    unsigned = plan().techniques
    assert unsigned is not None
    assert "not signed off" in unsigned.text


def test_where_to_look_is_that_of_the_chosen_technique_by_places_of_the_trunk() -> None:
    found = plan(side_vein("s", at_mm=90)).techniques
    assert found is not None
    first = found.look_here[0]
    assert first.leaves.startswith("the trunk at ")
    assert first.text.startswith("Worth a look before finishing: a channel that nobody saw from")
    assert "%" not in first.text
    # By hand: the shortest channel that passes both levels runs from the upper zone's upper end
    # (20 mm) to the distal zone's lower end (180 mm), and a shorter one conducts more.
    assert (first.leaves, first.rejoins) == ("the trunk at 20 mm", "the trunk at 180 mm")


def test_adhesive_is_a_row_of_facts_where_the_kit_has_it() -> None:
    adhesive = row(plan(), Technique.LIQUID_ADHESIVE)
    assert adhesive.closure.complete is None
    assert adhesive.residual == ()
    assert "mixed with iodised oil by its label" in adhesive.volume.text
    # pi/4 x (0.021 in)^2 x 130 cm = 0.29 mL for the demo's microcatheter.
    assert "0.29 mL" in adhesive.volume.text
    without = plan(kit=replace(KIT, adhesives=())).techniques
    assert without is not None
    assert without.row(Technique.LIQUID_ADHESIVE) is None


def test_an_ostium_marked_below_the_vein_gives_no_reflux_and_no_error() -> None:
    found = plan(vein_map=vein_map_of(straight_vessel(), ostium_mm=230.0))
    assert found.techniques is not None
    assert found.techniques.draws is None
