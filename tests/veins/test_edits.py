"""Edits replayed on a map drawn by hand: every expected number is worked out beside it."""

from itertools import pairwise
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.veins import (
    CalibrationMethod,
    DiameterMethod,
    OwnEnd,
    VeinMap,
    VesselKind,
    read_edits,
    vein_map_from_json,
    vein_map_to_json,
    with_edits_of_file,
)
from veins.maps import hand_map

HEAD = 'format = "coilwright.map-edits"\nversion = 1\n'
SIGNED = 'by = "A. Invented"\nat = 2026-01-31T10:42:00+01:00\nwhy = "seen so on the raw frames"\n'


def edited(folder: Path, *edits: str, head: str = HEAD) -> VeinMap:
    file = folder / "edits.toml"
    file.write_text(head + "".join(f"[[edit]]\n{SIGNED}{edit}\n" for edit in edits))
    return with_edits_of_file(hand_map(), file, read_edits(file))


def joins_of(vein_map: VeinMap, vessel_id: str) -> list[tuple[str, str, float]]:
    vessel = vein_map.vessel(vessel_id)
    return [(j.own_end.value, j.vessel, pytest.approx(j.at_mm)) for j in vessel.joins]  # type: ignore[misc]  # approx compares as a number


def test_a_dropped_vessel_is_gone_and_the_record_says_who_and_why(tmp_path: Path) -> None:
    found = edited(tmp_path, 'do = "drop"\nvessel = "side-vein-1"')
    assert [vessel.id for vessel in found.vessels] == ["trunk", "side-vein-2"]
    (record,) = found.edits
    assert (record.what, record.by, record.why) == (
        "drop", "A. Invented", "seen so on the raw frames",
    )  # fmt: skip
    # 41 samples 0.5 mm apart are 20 mm long.
    assert record.said == "took side-vein-1 (20 mm long, projected) off the map"
    assert record.at.isoformat() == "2026-01-31T10:42:00+01:00"


def test_a_dropped_parent_leaves_what_joined_it_unjoined(tmp_path: Path) -> None:
    found = edited(tmp_path, 'do = "drop"\nvessel = "trunk"')
    assert found.trunk is None
    assert found.vessel("side-vein-1").joins == ()
    assert found.catheter.in_vessel is None


def test_a_split_divides_lengths_joins_and_narrowings(tmp_path: Path) -> None:
    found = edited(tmp_path, 'do = "split"\nvessel = "trunk"\nat_mm = 40.2\nnew_id = "lower"')
    trunk, lower = found.vessel("trunk"), found.vessel("lower")
    # 100 mm cut at 40.2 leaves 40.2 and 59.8.
    assert [trunk.length_mm, lower.length_mm] == pytest.approx([40.2, 59.8])
    assert (trunk.kind, lower.kind) == (VesselKind.TRUNK, VesselKind.SIDE_VEIN)
    assert joins_of(found, "lower") == [("start", "trunk", 40.2)]
    assert joins_of(found, "side-vein-1") == [("start", "trunk", 40.0)]
    # 80 mm from the old start is 80 - 40.2 = 39.8 mm from the cut.
    assert joins_of(found, "side-vein-2") == [("start", "lower", 39.8)]
    # The narrowing from 35 to 45 mm becomes 35 to 40.2 and 0 to 4.8.
    assert [(n.from_mm, n.to_mm) for n in trunk.narrowings] == [(35.0, 40.2)]
    (below,) = lower.narrowings
    assert [below.from_mm, below.to_mm] == pytest.approx([0.0, 4.8])
    # x stays 100; y at the cut is 50 + 40.2 / 0.25 = 210.8.
    assert trunk.points_px[-1] == pytest.approx((100.0, 210.8))
    assert lower.points_px[0] == pytest.approx((100.0, 210.8))


def test_a_split_undone_by_a_join_gives_the_same_vessel(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "split"\nvessel = "trunk"\nat_mm = 40.0\nnew_id = "lower"',
        'do = "join"\nvessel = "trunk"\nto = "lower"',
    )
    before, after = hand_map().vessel("trunk"), found.vessel("trunk")
    assert after.points_px == before.points_px
    assert after.arc_mm == pytest.approx(before.arc_mm)
    assert after.diameter_mm == before.diameter_mm
    assert joins_of(found, "side-vein-2") == [("start", "trunk", 80.0)]
    assert [edit.what for edit in found.edits] == ["split", "join"]


def test_a_join_over_a_gap_bridges_it_unmeasured(tmp_path: Path) -> None:
    found = edited(tmp_path, 'do = "join"\nvessel = "side-vein-2"\nto = "side-vein-1"')
    joined = found.vessel("side-vein-2")
    # Nearest ends are both starts (or both ends), 160 px = 40 mm apart: 20 + 40 + 20.
    assert joined.length_mm == pytest.approx(80.0)
    steps = [b - a for a, b in pairwise(joined.arc_mm)]
    assert max(steps) <= 0.6 + 1e-9
    assert min(steps) > 0
    unknown = [a for a, d in zip(joined.arc_mm, joined.diameter_mm, strict=True) if d is None]
    assert 20.0 < min(unknown) < 20.7
    assert 59.3 < max(unknown) < 60.0
    assert "side-vein-1" not in [vessel.id for vessel in found.vessels]


def test_a_join_behind_a_turned_vessel_turns_what_joins_it(tmp_path: Path) -> None:
    # The drawn vessel runs upwards to the trunk's lower end at (100, 450), 40 px = 10 mm long.
    found = edited(
        tmp_path,
        'do = "add"\nnew_id = "below"\nkind = "side-vein"\npoints_px = [[100, 490], [100, 450]]',
        'do = "add"\nnew_id = "twig"\nkind = "side-vein"\nparent = "below"\n'
        "points_px = [[100, 482], [140, 482]]",
        'do = "join"\nvessel = "trunk"\nto = "below"',
    )
    # 490 - 482 = 8 px = 2 mm from the start of "below", so 100 + (10 - 2) = 108 mm on the trunk.
    assert joins_of(found, "twig") == [("start", "trunk", 108.0)]
    assert found.vessel("trunk").length_mm == pytest.approx(110.0)
    assert found.vessel("trunk").points_px[-1] == pytest.approx((100.0, 490.0))


def test_a_drawn_vessel_has_the_stated_calibre_and_joins_its_parent(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "add"\nnew_id = "hilar"\nkind = "side-vein"\nparent = "trunk"\n'
        "points_px = [[101, 90], [131, 130]]\ndiameter_mm = 2.5\ndiameter_sd_mm = 0.5",
    )
    drawn = found.vessel("hilar")
    # sqrt(30^2 + 40^2) = 50 px = 12.5 mm; (101, 90) is nearest to 40 px = 10 mm down the trunk.
    assert drawn.length_mm == pytest.approx(12.5)
    assert joins_of(found, "hilar") == [("start", "trunk", 10.0)]
    assert set(drawn.diameter_mm) == {2.5}
    assert drawn.diameter_method is DiameterMethod.GIVEN
    assert drawn.runs == ()


def test_without_pixels_or_a_stated_calibre_a_drawn_vessel_has_none(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "add"\nnew_id = "hilar"\nkind = "side-vein"\npoints_px = [[101, 90], [131, 130]]',
    )
    assert set(found.vessel("hilar").diameter_mm) == {None}
    assert "calibre not known" in found.edits[0].said


def test_a_new_trunk_needs_the_upper_part_that_it_shares(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"edits\.toml: edit 1, vessel: .*share its upper part"):
        edited(tmp_path, 'do = "trunk"\nvessel = "side-vein-1"\ncranial_end = "start"')


def test_another_trunk_by_split_and_join_keeps_the_ostium_end(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "split"\nvessel = "trunk"\nat_mm = 40.0\nnew_id = "lower"',
        'do = "join"\nvessel = "trunk"\nto = "side-vein-1"',
    )
    trunk = found.trunk
    assert trunk is not None
    # 40 mm down and 20 mm to the right.
    assert trunk.length_mm == pytest.approx(60.0)
    assert trunk.points_px[-1] == (180.0, 210.0)
    assert joins_of(found, "lower") == [("start", "trunk", 40.0)]


def test_a_trunk_named_among_unjoined_vessels_is_turned_to_the_head(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "add"\nnew_id = "other"\nkind = "side-vein"\npoints_px = [[300, 400], [300, 100]]',
        'do = "trunk"\nvessel = "other"\ncranial_end = "end"',
    )
    trunk = found.trunk
    assert trunk is not None
    assert (trunk.id, trunk.points_px[0], trunk.arc_mm[0]) == ("trunk", (300.0, 100.0), 0.0)
    assert found.vessel("former-trunk").kind is VesselKind.SIDE_VEIN
    assert joins_of(found, "side-vein-1") == [("start", "former-trunk", 40.0)]
    assert found.catheter.in_vessel == "former-trunk"


def test_a_scale_rescales_lengths_calibres_and_their_uncertainty(tmp_path: Path) -> None:
    found = edited(tmp_path, 'do = "scale"\nmm_per_pixel = 0.30\nrelative_sd = 0.03')
    trunk = found.vessel("trunk")
    # 0.30 / 0.25 = 1.2: 100 mm -> 120 mm, 4.0 mm -> 4.8 mm, a mouth at 80 mm -> 96 mm.
    assert trunk.length_mm == pytest.approx(120.0)
    assert trunk.diameter_mm[0] == pytest.approx(4.8)
    assert joins_of(found, "side-vein-2") == [("start", "trunk", 96.0)]
    # Fit alone: sqrt(0.1^2 - (4.0 * 0.01)^2) = 0.091652; scaled 0.109982; with 4.8 * 0.03 = 0.144:
    # sqrt(0.109982^2 + 0.144^2) = 0.181196.
    assert trunk.diameter_sd_mm[0] == pytest.approx(0.181196, abs=1e-6)
    assert trunk.narrowings[0].relaxed_diameter_mm == pytest.approx(5.28)
    assert found.calibration.method is CalibrationMethod.GIVEN
    assert found.quality.motion_corrected_mm == pytest.approx(0.6)
    (notice,) = found.calibration.warnings
    assert "A. Invented set the scale to 0.3000 mm per pixel" in notice.text
    assert "+20.0%" in notice.text


def test_samples_stay_within_six_tenths_of_a_millimetre_after_a_new_scale(tmp_path: Path) -> None:
    # DESIGN section 3: samples at most 0.6 mm apart; 0.5 mm * 0.35 / 0.25 would be 0.7 mm.
    found = edited(tmp_path, 'do = "scale"\nmm_per_pixel = 0.35\nrelative_sd = 0.03')
    arcs = found.vessel("trunk").arc_mm
    assert max(b - a for a, b in pairwise(arcs)) <= 0.6 + 1e-9
    assert arcs[-1] == pytest.approx(140.0)


def test_a_stated_calibre_does_not_follow_the_scale(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "add"\nnew_id = "hilar"\nkind = "side-vein"\n'
        "points_px = [[101, 90], [131, 130]]\ndiameter_mm = 2.5\ndiameter_sd_mm = 0.5",
        'do = "scale"\nmm_per_pixel = 0.30\nrelative_sd = 0.03',
    )
    assert set(found.vessel("hilar").diameter_mm) == {2.5}
    assert found.vessel("hilar").length_mm == pytest.approx(15.0)


def test_levels_are_marked_by_a_person(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "mark"\nlandmark = "ostium"\npoint_px = [100, 52]\nsd_mm = 2.0',
        'do = "mark"\nlandmark = "internal_ring"\npoint_px = [100, 440]\nsd_mm = 4.0',
    )
    assert found.landmarks.ostium is not None
    assert found.landmarks.ostium.how == "marked by A. Invented: seen so on the raw frames"
    assert found.landmarks.internal_ring is not None
    assert found.landmarks.internal_ring.point_px == (100.0, 440.0)


def test_conditions_are_stated_for_a_run(tmp_path: Path) -> None:
    found = edited(tmp_path, 'do = "conditions"\nrun = 0\ntip_site = "renal vein"\nvalsalva = true')
    assert found.runs[0].conditions.tip_site == "renal vein"
    assert found.runs[0].conditions.valsalva is True
    assert found.runs[0].conditions.tilt_deg is None


def test_edits_come_back_with_the_map(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "drop"\nvessel = "side-vein-1"',
        'do = "add"\nnew_id = "hilar"\nkind = "side-vein"\npoints_px = [[101, 90], [131, 130]]',
    )
    assert vein_map_from_json(vein_map_to_json(found), Path("map.json")) == found


def test_a_map_written_before_edits_existed_is_still_read() -> None:
    text = vein_map_to_json(hand_map()).replace('"edits": []', '"landmarks_note": 1')
    assert vein_map_from_json(text, Path("map.json")).edits == ()


def test_the_drawn_end_says_which_join(tmp_path: Path) -> None:
    found = edited(
        tmp_path,
        'do = "add"\nnew_id = "loop"\nkind = "duplicate"\nparent = "trunk"\n'
        "points_px = [[100, 90], [60, 130], [100, 170]]",
    )
    # 40 px and 120 px down the trunk at 0.25 mm: 10 and 30 mm.
    assert joins_of(found, "loop") == [
        (OwnEnd.START.value, "trunk", 10.0), (OwnEnd.END.value, "trunk", 30.0),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("edit", "sentence"),
    [
        ('do = "drop"\nvessel = "vein-9"', r"edit 1, vessel: no vessel 'vein-9' on the map here; "),
        ('do = "drop"', r"edit 1, vessel: missing; add a vessel's id"),
        ('do = "erase"', r"edit 1, do: not possible; write one of drop, join"),
        ('do = "drop"\nvessel = "trunk"\nmm = 3', r"edit 1, mm: unknown key; use one of"),
        ('do = "join"\nvessel = "trunk"\nto = "trunk"', r"edit 1, to: a vessel cannot be joined"),
        (
            'do = "split"\nvessel = "trunk"\nat_mm = 100.0\nnew_id = "x"',
            r"edit 1, at_mm: 100 mm leaves no vessel on one side; give 1\.0 to 99\.0 mm",
        ),
        (
            'do = "split"\nvessel = "trunk"\nat_mm = 50.0\nnew_id = "side-vein-1"',
            r"edit 1, new_id: 'side-vein-1' is on the map already",
        ),
        ('do = "scale"\nmm_per_pixel = 25\nrelative_sd = 0.01', r"25 mm per pixel is impossible"),
        ('do = "scale"\nmm_per_pixel = 0.25', r"edit 1, relative_sd: missing"),
        (
            'do = "add"\nnew_id = "x"\nkind = "vein"\npoints_px = [[1, 2], [3, 4]]',
            r'edit 1, kind: not possible; write "trunk" or "side-vein"',
        ),
        (
            'do = "add"\nnew_id = "x"\nkind = "tangle"\npoints_px = [[1, 2]]',
            r"edit 1, points_px: not a path",
        ),
        (
            'do = "add"\nnew_id = "x"\nkind = "tangle"\npoints_px = [[1, 2], [3, 4]]\n'
            "diameter_mm = 3.0",
            r"edit 1, diameter_sd_mm: missing beside the other",
        ),
        ('do = "mark"\nlandmark = "hip"\npoint_px = [1, 2]\nsd_mm = 1', r"landmark: not possible"),
        ('do = "conditions"\nrun = 3', r"edit 1, run: run 3 is not on the map"),
    ],
)  # fmt: skip
def test_an_edit_that_does_not_fit_gets_one_sentence(
    tmp_path: Path, edit: str, sentence: str
) -> None:
    with pytest.raises(FileProblem, match=sentence) as caught:
        edited(tmp_path, edit)
    assert str(caught.value).startswith("edits.toml: ")
    assert len(str(caught.value).splitlines()) == 1


@pytest.mark.parametrize(
    ("head", "sentence"),
    [
        ("version = 1\n", r"edits\.toml: format: not a coilwright\.map-edits file"),
        ('format = "coilwright.map-edits"\nversion = 2\n', r"version: not known here"),
        (HEAD + 'sop_instance_uid = "9.9"\n', r"made on another run than this map's"),
        (HEAD + "name = 1\n", r"name: unknown key"),
    ],
)
def test_a_file_that_is_not_for_this_map_is_refused(
    tmp_path: Path, head: str, sentence: str
) -> None:
    with pytest.raises(FileProblem, match=sentence):
        edited(tmp_path, 'do = "drop"\nvessel = "side-vein-1"', head=head)


def test_a_stated_and_a_measured_calibre_are_not_mixed(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"edit 2, to: one calibre was stated and the other"):
        edited(
            tmp_path,
            'do = "add"\nnew_id = "below"\nkind = "side-vein"\ndiameter_mm = 2.5\n'
            "diameter_sd_mm = 0.5\npoints_px = [[100, 452], [100, 490]]",
            'do = "join"\nvessel = "trunk"\nto = "below"',
        )


def test_the_example_file_holds_every_kind_of_edit() -> None:
    file = Path(__file__).parents[2] / "examples" / "edits" / "map-edits.toml"
    kinds = [type(edit).__name__ for edit in read_edits(file).edits]
    assert kinds == [
        "StateConditions", "DropVessel", "SplitVessel", "JoinVessels", "AddVessel", "NameTrunk",
        "MarkLevel", "SetScale",
    ]  # fmt: skip
