"""From a vein map drawn by hand to a network: cuts, ends, calibres, marks."""

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.planning.least_closure import least_closure
from coilwright.planning.map_network import map_network
from coilwright.planning.marks_fit import MarksDoNotFit
from coilwright.planning.network_marks import (
    Channel,
    FarEnd,
    NetworkMarks,
    NewPoint,
    Place,
    Protected,
    SeenBy,
    StatedCalibre,
)
from coilwright.planning.network_marks_file import read_network_marks
from coilwright.planning.piece_calibre import piece_calibre
from coilwright.veins import Landmark, Landmarks, OwnEnd, VeinMap, VesselKind
from coilwright.veins.edits import Signed
from coilwright.veins.vein_network import NetworkVein, PointKind
from veins.maps import hand_map, joined_at, straight

SIGNED = Signed(by="Sorrel, A.", at=datetime(2026, 4, 20, 10, 0, tzinfo=UTC), why="seen")
EXAMPLE = Path(__file__).parents[2] / "examples" / "networks" / "network-marks.toml"
MARKS = NetworkMarks(enters=Place(vessel="trunk", at_mm=0.0), outer_diameter_mm=0.9)


def mark_at(arc_mm: float) -> Landmark:
    """A mark on the hand map's trunk, which runs down x = 100 from y = 50 at 0.25 mm a pixel."""
    return Landmark(point_px=(100.0, 50.0 + arc_mm / 0.25), sd_mm=1.0, how="marked")


def marked_map(*, ostium_mm: float | None = 0.0, floor_mm: float | None = None) -> VeinMap:
    marks = Landmarks(
        ostium=None if ostium_mm is None else mark_at(ostium_mm),
        superior_ramus_edge=None if floor_mm is None else mark_at(floor_mm),
    )
    return replace(hand_map(), landmarks=marks)


def veins_of(vein_map: VeinMap, marks: NetworkMarks = MARKS) -> dict[str, NetworkVein]:
    return {vein.id: vein for vein in map_network(vein_map, marks).network.veins}


def test_the_trunk_is_cut_at_the_mouths_of_its_side_veins() -> None:
    veins = veins_of(marked_map())
    ends = {name: (v.from_point, v.to_point, v.length_mm) for name, v in veins.items()}
    assert ends == {
        "trunk:1": ("trunk@0.0", "trunk@40.0", 40.0),
        "trunk:2": ("trunk@40.0", "trunk@80.0", 40.0),
        "trunk:3": ("trunk@80.0", "trunk@100.0", 20.0),
        "side-vein-1": ("trunk@40.0", "side-vein-1@20.0", 20.0),
        "side-vein-2": ("trunk@80.0", "side-vein-2@20.0", 20.0),
    }


def test_blood_enters_at_the_ostium_and_must_not_leave_at_the_trunks_lower_end() -> None:
    network = map_network(marked_map(), MARKS).network
    kinds = {point.id: point.kind for point in network.points}
    assert network.inflows == {"trunk@0.0"}
    assert network.outflows == {"trunk@100.0"}
    assert kinds["trunk@40.0"] is PointKind.JUNCTION
    assert kinds["side-vein-1@20.0"] is PointKind.END


def test_a_duplicate_makes_two_channels_between_its_mouths() -> None:
    vein_map = marked_map()
    duplicate = straight(
        "duplicate-1", VesselKind.DUPLICATE, (110.0, 110.0), (0.0, 1.0), 91,
        joins=(joined_at("trunk", 15.0), joined_at("trunk", 60.0, OwnEnd.END)),
    )  # fmt: skip
    vein_map = replace(vein_map, vessels=(*vein_map.vessels, duplicate))
    veins = veins_of(vein_map)
    assert (veins["duplicate-1"].from_point, veins["duplicate-1"].to_point) == (
        "trunk@15.0",
        "trunk@60.0",
    )
    # One place below the duplicate's lower mouth shuts both: the lowest piece of all.
    assert least_closure(map_network(vein_map, MARKS).network).occlude == ("trunk:5",)


def test_nothing_below_the_superior_ramus_may_be_closed() -> None:
    veins = veins_of(marked_map(floor_mm=70.0))
    assert [veins[f"trunk:{n}"].may_occlude for n in (1, 2, 3, 4)] == [True, True, False, False]
    assert veins["side-vein-1"].may_occlude
    assert not veins["side-vein-2"].may_occlude


def test_an_ostium_within_the_trunk_leaves_what_is_above_it_a_dead_end() -> None:
    network = map_network(marked_map(ostium_mm=10.0), MARKS).network
    assert network.inflows == {"trunk@10.0"}
    assert {p.id: p.kind for p in network.points}["trunk@0.0"] is PointKind.END


def test_no_ostium_and_no_stated_inflow_is_refused_and_not_guessed() -> None:
    with pytest.raises(MarksDoNotFit, match=r"landmarks\.ostium: not marked; mark the ostium"):
        map_network(marked_map(ostium_mm=None), MARKS)


def test_the_even_tube_of_two_calibres_in_series_has_their_resistance() -> None:
    # 10 mm of 2 mm and 10 mm of 4 mm: 10/16 + 10/256 = 0.6640625 = 20 / d^4, d = 2.34263...
    # The half millimetre between the two calibres resists by the trapezium rule as half of each.
    vessel = straight("v", VesselKind.SIDE_VEIN, (0.0, 0.0), (0.0, 1.0), 41)
    widths = tuple(2.0 if arc < 10.0 else 4.0 for arc in vessel.arc_mm)
    made = piece_calibre(replace(vessel, diameter_mm=widths), 0.0, 20.0)
    assert made is not None
    by_hand = (20 / (9.75 / 16 + 10.25 / 256)) ** 0.25
    assert made.diameter_mm == pytest.approx(by_hand, rel=1e-12)


def test_a_scale_error_common_to_all_samples_is_not_averaged_away() -> None:
    # Every sample 4 mm with sd 0.1 mm and 1 % by depth: sqrt(0.1^2 + 0.04^2) = 0.1077 mm.
    vessel = straight("v", VesselKind.SIDE_VEIN, (0.0, 0.0), (0.0, 1.0), 41)
    made = piece_calibre(vessel, 0.0, 20.0)
    assert made is not None
    assert made.diameter_mm == pytest.approx(4.0, rel=1e-12)
    assert made.diameter_sd_mm == pytest.approx(0.0116**0.5, rel=1e-12)


def test_a_narrowing_is_relaxed_for_passing_and_not_for_flow() -> None:
    # The hand map's trunk is 4.0 mm throughout; from 35 to 45 mm it relaxes to 4.4 mm.
    veins = veins_of(marked_map())
    assert veins["trunk:1"].diameter_mm == pytest.approx(4.0, rel=1e-12)
    assert 4.0 < (veins["trunk:1"].relaxed_diameter_mm or 0.0) < 4.4
    assert veins["trunk:3"].relaxed_diameter_mm is None


def test_a_far_end_a_protected_vein_and_a_channel_change_what_is_closed() -> None:
    marks = replace(
        MARKS,
        far_ends=(
            FarEnd(
                signed=SIGNED, vessel="side-vein-1", own_end=OwnEnd.END, kind=PointKind.OUTFLOW
            ),
        ),
        protected=(Protected(signed=SIGNED, vessel="trunk", from_mm=0.0, to_mm=40.0),),
        channels=(
            Channel(
                signed=SIGNED, new_id="bypass", seen_by=SeenBy.FLUOROSCOPY,
                from_place=NewPoint(name="capsule", kind=PointKind.INFLOW),
                to_place=Place(vessel="trunk", at_mm=60.0), length_mm=50.0, diameter_mm=1.2,
                diameter_sd_mm=0.3, may_occlude=True,
            ),
        ),
    )  # fmt: skip
    made = map_network(marked_map(), marks)
    assert made.network.inflows == {"trunk@0.0", "capsule"}
    answer = least_closure(made.network)
    # By hand: the trunk below the bypass for both inflows, and the first side vein.
    assert answer.complete
    assert set(answer.occlude) == {"side-vein-1", "trunk:4"}


def test_a_piece_without_a_calibre_is_refused_until_one_is_stated() -> None:
    vein_map = marked_map()
    blind = replace(vein_map.vessels[1], diameter_mm=(None,) * 41)
    vein_map = replace(vein_map, vessels=(vein_map.vessels[0], blind, vein_map.vessels[2]))
    with pytest.raises(MarksDoNotFit, match=r"side-vein-1: no calibre near 0 mm; state one"):
        map_network(vein_map, MARKS)
    stated = StatedCalibre(signed=SIGNED, vessel="side-vein-1", diameter_mm=2.5, diameter_sd_mm=0.5)
    assert veins_of(vein_map, replace(MARKS, calibres=(stated,)))["side-vein-1"].diameter_mm == 2.5


def test_a_vein_that_leaves_the_picture_is_said_to_be_taken_as_a_dead_end() -> None:
    vein_map = marked_map(floor_mm=90.0)
    leaving = replace(vein_map.vessels[2], leaves_frame=True)
    vein_map = replace(vein_map, vessels=(*vein_map.vessels[:2], leaving))
    (said,) = map_network(vein_map, MARKS).assumptions
    assert said.startswith("side-vein-2 leaves the picture and nobody has said where it leads")


@pytest.mark.parametrize(
    ("marks", "sentence"),
    [
        (
            replace(MARKS, enters=Place(vessel="cava", at_mm=0.0)),
            "catheter, vessel: not on the map; name a vessel of the map by its id",
        ),
        (
            replace(MARKS, enters=Place(vessel="trunk", at_mm=300.0)),
            "catheter, at_mm: past the vessel's end at 100.0 mm",
        ),
        (
            replace(
                MARKS,
                far_ends=(
                    FarEnd(
                        signed=SIGNED,
                        vessel="side-vein-1",
                        own_end=OwnEnd.START,
                        kind=PointKind.INFLOW,
                    ),
                ),
            ),
            "far_end 1, own_end: joins another vessel",
        ),
        (
            replace(
                MARKS,
                far_ends=(
                    FarEnd(
                        signed=SIGNED, vessel="trunk", own_end=OwnEnd.END, kind=PointKind.END
                    ),
                ),
            ),
            "far_end: no outflow is left",
        ),
    ],
)  # fmt: skip
def test_marks_that_do_not_fit_the_map_are_refused(marks: NetworkMarks, sentence: str) -> None:
    with pytest.raises(MarksDoNotFit, match=sentence):
        map_network(marked_map(), marks)


def test_the_example_of_a_marks_file_is_read_whole() -> None:
    marks = read_network_marks(EXAMPLE)
    assert (marks.enters.vessel, marks.outer_diameter_mm) == ("trunk", 0.9)
    assert [len(part) for part in (marks.far_ends, marks.protected, marks.calibres)] == [2, 1, 1]
    (channel,) = marks.channels
    assert channel.seen_by is SeenBy.FLUOROSCOPY
    assert channel.to_place == NewPoint(name="pelvis", kind=PointKind.OUTFLOW)


@pytest.mark.parametrize(
    ("before", "after", "sentence"),
    [
        ("coilwright.network-marks", "other", "format: not a coilwright.network-marks file"),
        ("version = 1", "version = 2", "version: not known here"),
        ("[catheter]", "[catheters]", "catheters: unknown key"),
        ("outer_diameter_mm = 0.9", "", "catheter, outer_diameter_mm: missing; add a number"),
        ("outer_diameter_mm = 0.9", "outer_diameter_mm = 30", "30 mm is impossible"),
        ('own_end = "start"', 'own_end = "top"', "far_end 1, own_end: not possible"),
        ('kind = "outflow"\nby', 'kind = "junction"\nby', "far_end 2, kind: an end joins nothing"),
        ("may_occlude = true", "", "channel 1, may_occlude: missing"),
        ('seen_by = "fluoroscopy"', 'seen_by = "guess"', "channel 1, seen_by: not possible"),
        (", at_mm = 60.0 }", "}", "channel 1, from, at_mm: missing"),
        ("length_mm = 45", "length_mm = nan", "channel 1, length_mm: nan mm is impossible"),
        ('why = "drains the ureter"', "", "protected 1, why: missing"),
    ],
)
def test_a_marks_file_that_cannot_be_meant_is_refused(
    tmp_path: Path, before: str, after: str, sentence: str
) -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    assert before in text
    file = tmp_path / "marks.toml"
    file.write_text(text.replace(before, after, 1), encoding="utf-8")
    with pytest.raises(FileProblem, match=sentence) as caught:
        read_network_marks(file)
    assert str(caught.value).startswith("marks.toml: ")
