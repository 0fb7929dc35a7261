"""Two maps of one vein made one: shifts, lengths and means are worked out by hand."""

from dataclasses import replace

import pytest

from coilwright.veins import (
    Affine,
    Catheter,
    Conditions,
    Join,
    Landmark,
    Landmarks,
    Narrowing,
    NothingShared,
    Notice,
    OwnEnd,
    VeinMap,
    Vessel,
    VesselKind,
    join_maps,
    same_injection,
    same_strain,
)
from veins.maps import hand_map, joined_at, straight

REST = Conditions(tip_site="renal vein", valsalva=False, tilt_deg=0.0)
STRAIN = Conditions(tip_site="renal vein", valsalva=True, tilt_deg=0.0)


def under(vein_map: VeinMap, conditions: Conditions) -> VeinMap:
    return replace(vein_map, runs=(replace(vein_map.runs[0], conditions=conditions),))


def second_run(diameter_mm: float = 4.0, conditions: Conditions = REST) -> VeinMap:
    """The table moved 240 px (60 mm): the trunk from 60 to 140 mm, and a vein at 120 mm.

    In its own grid the trunk starts at y = 50 where the map has y = 290.
    """
    trunk = straight(
        "trunk", VesselKind.TRUNK, (100.0, 50.0), (0.0, 1.0), 161, diameter_mm=diameter_mm
    )
    twig = straight(
        "side-vein-1", VesselKind.SIDE_VEIN, (100.0, 290.0), (-1.0, 0.0), 31,
        diameter_mm=2.0, joins=(joined_at("trunk", 60.0),),
    )  # fmt: skip
    first = hand_map()
    run = replace(first.runs[0], sop_instance_uid="1.2.4", conditions=conditions)
    return replace(first, runs=(run,), vessels=(trunk, twig))


DOWN_240: Affine = ((1.0, 0.0, 0.0), (0.0, 1.0, 240.0))


def test_a_trunk_seen_on_two_tables_is_one_trunk_of_the_whole_length() -> None:
    joined = join_maps(under(hand_map(), REST), second_run(), DOWN_240)
    trunk = joined.trunk
    assert trunk is not None
    # 0 to 100 mm in the first, 60 to 140 mm in the second.
    assert trunk.length_mm == pytest.approx(140.0)
    assert trunk.points_px[-1] == pytest.approx((100.0, 610.0))
    assert trunk.runs == (0, 1)
    assert [run.sop_instance_uid for run in joined.runs] == ["1.2.3", "1.2.4"]
    assert joined.runs[1].to_map_px == DOWN_240


def test_a_new_vessel_gets_a_new_id_and_joins_where_it_lies_on_the_map() -> None:
    joined = join_maps(under(hand_map(), REST), second_run(), DOWN_240)
    assert [v.id for v in joined.vessels] == [
        "trunk", "side-vein-1", "side-vein-2", "side-vein-3",
    ]  # fmt: skip
    added = joined.vessel("side-vein-3")
    assert added.runs == (1,)
    # 60 mm down the second trunk, which starts 60 mm down the map's.
    assert added.joins[0].at_mm == pytest.approx(120.0)


def test_a_run_above_moves_every_arc_of_the_trunk_down() -> None:
    # The same vessels the other way round: the map is the lower run, the upper one joins it.
    up: Affine = ((1.0, 0.0, 0.0), (0.0, 1.0, -240.0))
    joined = join_maps(second_run(), under(hand_map(), REST), up)
    trunk = joined.trunk
    assert trunk is not None
    assert trunk.arc_mm[0] == 0.0
    assert trunk.length_mm == pytest.approx(140.0)
    assert trunk.points_px[0] == pytest.approx((100.0, -190.0))
    assert joined.vessel("side-vein-1").joins[0].at_mm == pytest.approx(120.0)
    # side-vein-1 of the upper run, 40 mm down its trunk, is new here.
    assert joined.vessel("side-vein-2").joins[0].at_mm == pytest.approx(40.0)


def test_calibres_under_the_same_conditions_are_weighted_by_their_sd() -> None:
    other = second_run(diameter_mm=4.3)
    trunk = other.vessels[0]
    surer = replace(trunk, diameter_sd_mm=(0.05,) * len(trunk.arc_mm))
    joined = join_maps(
        under(hand_map(), REST), replace(other, vessels=(surer, *other.vessels[1:])), DOWN_240
    )
    found = joined.vessel("trunk")
    at = found.arc_mm.index(80.0)
    # Weights 1/0.1^2 = 100 and 1/0.05^2 = 400: (100 * 4.0 + 400 * 4.3) / 500 = 4.24.
    assert found.diameter_mm[at] == pytest.approx(4.24)
    # 500^-0.5 = 0.044721; apart by 0.3 / sqrt(0.0125) = 2.683 sd, by which it grows: 0.12.
    assert found.diameter_sd_mm[at] == pytest.approx(0.12, abs=1e-4)
    # Above 60 mm the first run alone saw it.
    assert found.diameter_mm[found.arc_mm.index(30.0)] == 4.0
    assert all(n.relaxed_diameter_mm == 4.4 for n in found.narrowings)


def test_a_wider_state_under_valsalva_is_the_relaxed_calibre_and_both_are_shown() -> None:
    joined = join_maps(
        under(hand_map(), REST), second_run(diameter_mm=5.0, conditions=STRAIN), DOWN_240
    )
    found = joined.vessel("trunk")
    assert found.diameter_mm[found.arc_mm.index(80.0)] == 4.0
    wide = [n for n in found.narrowings if n.relaxed_diameter_mm == 5.0]
    assert (wide[0].from_mm, wide[-1].to_mm) == (60.0, 100.0)
    # 40 mm in pieces of at most 15 mm: three.
    assert len(wide) == 3
    assert "Valsalva differ" in joined.quality.warnings[0].text


def test_a_narrower_state_is_kept_as_measured_under_the_relaxed_one() -> None:
    joined = join_maps(
        under(hand_map(), STRAIN), second_run(diameter_mm=3.2, conditions=REST), DOWN_240
    )
    found = joined.vessel("trunk")
    assert found.diameter_mm[found.arc_mm.index(80.0)] == 3.2
    relaxed = [n.relaxed_diameter_mm for n in found.narrowings if n.from_mm >= 60.0]
    assert relaxed == [4.0, 4.0, 4.0]


def test_unknown_conditions_are_said_and_a_difference_counts_as_two_states() -> None:
    joined = join_maps(hand_map(), second_run(diameter_mm=5.0, conditions=Conditions()), DOWN_240)
    assert "not known of both: Valsalva, table tilt" in joined.quality.warnings[0].text
    assert any(n.relaxed_diameter_mm == 5.0 for n in joined.vessel("trunk").narrowings)


def test_a_trunk_wholly_in_spasm_is_answered_by_a_run_that_saw_it_relaxed() -> None:
    first = hand_map()
    spasm = Narrowing(from_mm=62.0, to_mm=98.0, relaxed_diameter_mm=None, relaxed_sd_mm=None)
    trunk = replace(first.vessels[0], narrowings=(spasm,))
    joined = join_maps(
        replace(first, vessels=(trunk, *first.vessels[1:])), second_run(diameter_mm=6.0), DOWN_240
    )
    assert {n.relaxed_diameter_mm for n in joined.vessel("trunk").narrowings} == {6.0}


def test_runs_without_a_common_vessel_are_refused() -> None:
    far: Affine = ((1.0, 0.0, 200.0), (0.0, 1.0, 240.0))
    with pytest.raises(NothingShared, match="no vessel is seen in both"):
        join_maps(hand_map(), second_run(), far)


def test_a_vessel_seen_from_its_other_end_is_turned() -> None:
    first = hand_map()
    backwards = straight(
        "trunk", VesselKind.TRUNK, (100.0, 610.0), (0.0, -1.0), 161, diameter_mm=4.0
    )
    other = replace(second_run(), vessels=(backwards,))
    joined = join_maps(first, other, ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0)))
    # y = 610 is 560 px below the start at y = 50: 140 mm.
    assert joined.vessel("trunk").length_mm == pytest.approx(140.0)


@pytest.mark.parametrize(
    ("other", "agree", "why"),
    [
        (REST, True, "the same injection site, Valsalva, table tilt"),
        (replace(REST, tilt_deg=4.0), True, "the same"),
        (replace(REST, tilt_deg=15.0), False, "table tilt differ"),
        (STRAIN, False, "Valsalva differ"),
        (replace(REST, tip_site="Renal Vein"), True, "the same"),
        (replace(REST, tip_site="trunk"), False, "injection site differ"),
        (replace(REST, valsalva=None), None, "not known of both: Valsalva"),
    ],
)
def test_injections_are_the_same_only_where_all_is_known_of_both(
    other: Conditions, agree: bool | None, why: str
) -> None:
    found = same_injection(REST, other)
    assert (found.agree, why in found.why) == (agree, True)


def test_the_site_of_injection_does_not_widen_a_vein() -> None:
    assert same_strain(REST, replace(REST, tip_site="trunk")).agree is True


def test_a_vein_that_leaves_the_trunk_of_the_map_is_a_branch_that_somebody_must_look_at() -> None:
    # The other run's trunk follows the map's to 80 mm (y = 370), then turns off for 30 mm.
    down = straight("trunk", VesselKind.TRUNK, (100.0, 170.0), (0.0, 1.0), 101)
    off = straight("trunk", VesselKind.TRUNK, (102.0, 370.0), (1.0, 0.0), 60)
    bent = replace(
        down,
        points_px=down.points_px + off.points_px,
        arc_mm=down.arc_mm + tuple(50.5 + arc for arc in off.arc_mm),
        diameter_mm=down.diameter_mm + off.diameter_mm,
        diameter_sd_mm=down.diameter_sd_mm + off.diameter_sd_mm,
        depth_relative_sd=down.depth_relative_sd + off.depth_relative_sd,
        opacity=down.opacity + off.opacity,
        arrival_s=down.arrival_s + off.arrival_s,
    )
    first = hand_map()
    alone = replace(first, vessels=(first.vessels[0],))
    here: Affine = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    joined = join_maps(alone, replace(second_run(), vessels=(bent,)), here)
    assert joined.vessel("trunk").length_mm == pytest.approx(100.0)
    branch = joined.vessel("side-vein-1")
    # It is still within 3 mm of the trunk for 12 px of its 120 px.
    assert branch.length_mm == pytest.approx(27.0, abs=0.6)
    assert branch.joins[0].at_mm == pytest.approx(80.0)
    assert any(notice.code == "runs-part" for notice in joined.quality.warnings)


def test_the_catheter_is_that_of_the_run_in_which_it_lies_in_a_vessel() -> None:
    nowhere = replace(hand_map(), catheter=Catheter(tip_px=(10.0, 10.0), in_vessel=None))
    other = replace(second_run(), catheter=Catheter(tip_px=(100.0, 60.0), in_vessel="trunk"))
    joined = join_maps(nowhere, other, DOWN_240)
    assert joined.catheter == Catheter(tip_px=(100.0, 300.0), in_vessel="trunk")
    assert join_maps(hand_map(), other, DOWN_240).catheter == hand_map().catheter


SAME_TABLE: Affine = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))


def channel(count: int, *joins: Join, start: tuple[float, float] = (140.0, 210.0)) -> Vessel:
    """A vein straight down x = 140, 10 mm beside the trunk, its ends taken to touch that."""
    return straight("side-vein-1", VesselKind.SIDE_VEIN, start, (0.0, 1.0), count, joins=joins)


def test_a_side_vein_that_the_other_run_shows_to_rejoin_is_a_duplicate() -> None:
    # The first run shows 20 mm of it, from 40 mm along the trunk (y = 210) on; the second all 40
    # mm, back into the trunk at 80 mm (y = 370).
    trunk = straight("trunk", VesselKind.TRUNK, (100.0, 50.0), (0.0, 1.0), 201)
    twig = straight(
        "side-vein-2", VesselKind.SIDE_VEIN, (140.0, 240.0), (1.0, 0.0), 31,
        joins=(joined_at("side-vein-1", 7.5),),
    )  # fmt: skip
    first = replace(hand_map(), vessels=(trunk, channel(41, joined_at("trunk", 40.0)), twig))
    whole = replace(
        channel(81, joined_at("trunk", 40.0), joined_at("trunk", 80.0, OwnEnd.END)),
        id="duplicate-1",
        kind=VesselKind.DUPLICATE,
    )
    joined = join_maps(first, replace(second_run(), vessels=(trunk, whole)), SAME_TABLE)
    found = joined.vessel("duplicate-1")
    assert found.kind is VesselKind.DUPLICATE
    assert found.length_mm == pytest.approx(40.0)
    ends = {join.own_end: (join.vessel, join.at_mm) for join in found.joins}
    assert ends == {OwnEnd.START: ("trunk", 40.0), OwnEnd.END: ("trunk", 80.0)}
    # What hangs on it hangs on it by its new name.
    assert joined.vessel("side-vein-2").joins[0].vessel == "duplicate-1"
    assert all(v.id != "side-vein-1" for v in joined.vessels)


def test_the_two_halves_of_a_channel_on_two_tables_make_a_duplicate() -> None:
    # The second run shows it from the trunk at 80 mm (y = 370) upwards for 30 mm.
    trunk = straight("trunk", VesselKind.TRUNK, (100.0, 50.0), (0.0, 1.0), 201)
    first = replace(hand_map(), vessels=(trunk, channel(61, joined_at("trunk", 40.0))))
    below = straight(
        "side-vein-1", VesselKind.SIDE_VEIN, (140.0, 370.0), (0.0, -1.0), 61,
        joins=(joined_at("trunk", 80.0),),
    )  # fmt: skip
    joined = join_maps(first, replace(second_run(), vessels=(trunk, below)), SAME_TABLE)
    found = joined.vessel("duplicate-1")
    assert found.length_mm == pytest.approx(40.0)
    assert {join.at_mm for join in found.joins} == {40.0, 80.0}


def test_a_side_vein_seen_on_both_runs_stays_one() -> None:
    joined = join_maps(under(hand_map(), REST), hand_map(), SAME_TABLE)
    assert {v.kind for v in joined.vessels} == {VesselKind.TRUNK, VesselKind.SIDE_VEIN}


def test_an_ostium_that_one_run_shows_is_not_said_to_be_missing() -> None:
    missing = Notice(code="ostium-not-shown", text="this run shows no ostium")
    without = replace(second_run().quality, warnings=(missing,))
    other = replace(second_run(), quality=without)
    shown = Landmark(point_px=(100.0, 50.0), sd_mm=3.0, how="catheter")
    first = replace(hand_map(), landmarks=Landmarks(ostium=shown))
    joined = join_maps(first, other, DOWN_240)
    assert "ostium-not-shown" not in {notice.code for notice in joined.quality.warnings}
    neither = join_maps(hand_map(), other, DOWN_240)
    assert ("ostium-not-shown", "run 2: this run shows no ostium") in {
        (notice.code, notice.text) for notice in neither.quality.warnings
    }
