"""Completion runs made of a rendered run: below a known row its contrast is taken away.

The registration truth is the window that was cut; opacity truth is that the frames below the row
are frames from before contrast.
"""

import json
import subprocess
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from coilwright.errors import FileProblem
from coilwright.veins import (
    Band,
    ComparedZone,
    Comparison,
    Conditions,
    Landmarks,
    Side,
    Stretch,
    VeinMap,
    ZoneState,
    vein_map_to_json,
)
from coilwright.venogram import (
    AskedZone,
    CompletionRun,
    compare_with_map,
    read_header,
    read_run,
)
from coilwright.workflow.compare_runs import compare_runs
from venogram.conftest import STRAIN, JoinedTables
from venogram.tables import UPPER, with_contrast_moved, without_contrast_below

pytestmark = pytest.mark.xdist_group("tables")

# A window 12 rows lower and 9 columns to the right of the upper table's.
MOVED = (UPPER[0] + 12, UPPER[1] + 12, UPPER[2] + 9, UPPER[3] + 9)
# The trunk is filled down to 60 mm and empty below.
SHUT_AT_MM = 60.0
UPPER_ZONE = AskedZone(name="upper level", zone=Stretch(vessel="trunk", from_mm=20, to_mm=32))
SHUT_ZONE = AskedZone(name="distal level", zone=Stretch(vessel="trunk", from_mm=58, to_mm=72))
LOWEST_ZONE = AskedZone(name="lowest level", zone=Stretch(vessel="trunk", from_mm=100, to_mm=112))
ZONES = (UPPER_ZONE, SHUT_ZONE, LOWEST_ZONE)


def row_at(vein_map: VeinMap, arc_mm: float) -> int:
    """The row of the whole picture in which the trunk is at an arc."""
    trunk = vein_map.trunk
    assert trunk is not None
    y = float(np.interp(arc_mm, trunk.arc_mm, [point[1] for point in trunk.points_px]))
    return round(y) + UPPER[0]


@pytest.fixture(scope="module")
def shut_run(joined_tables: JoinedTables) -> Path:
    row = row_at(joined_tables.vein_map, SHUT_AT_MM)
    frames = without_contrast_below(joined_tables.table, row)
    return joined_tables.table.write("completion", MOVED, frames)


@pytest.fixture(scope="module")
def unreached_run(joined_tables: JoinedTables) -> Path:
    frames = without_contrast_below(joined_tables.table, 0)
    return joined_tables.table.write("weak", UPPER, frames)


def compared(
    joined: JoinedTables,
    file: Path,
    conditions: Conditions = STRAIN,
    vein_map: VeinMap | None = None,
) -> Comparison:
    run = CompletionRun(run=read_run(file), header=read_header(file), conditions=conditions)
    return compare_with_map(vein_map or joined.vein_map, joined.map_file, run, ZONES).comparison


def zone(comparison: Comparison, name: str) -> ComparedZone:
    return next(zone for zone in comparison.zones if zone.name == name)


def test_the_run_is_laid_where_its_window_was_cut(
    joined_tables: JoinedTables, shut_run: Path
) -> None:
    affine = compared(joined_tables, shut_run).to_map_px
    assert affine is not None
    # 0.3 mm a pixel: within 0.3 mm.
    assert (affine[0][2], affine[1][2]) == pytest.approx((9.0, 12.0), abs=1.0)


def test_open_shut_and_not_shown_zones_are_told_apart(
    joined_tables: JoinedTables, shut_run: Path
) -> None:
    found = compared(joined_tables, shut_run)
    assert (found.comparable, found.ostium_reached) == (True, True)
    states = [zone(found, z.name).state for z in ZONES]
    assert states == [ZoneState.STILL_OPACIFIES, ZoneState.SHUT, ZoneState.NOT_SHOWN]
    assert zone(found, "lowest level").text == (
        "not shown: contrast was stopped above it, at distal level"
    )


def test_residual_opacity_is_a_band(joined_tables: JoinedTables, shut_run: Path) -> None:
    found = compared(joined_tables, shut_run)
    shut = zone(found, "distal level").residual
    assert shut is not None
    assert (shut.lowest, shut.highest) == (Band.NONE, Band.NONE)
    # The contrast above is that of the run before, unchanged.
    still = zone(found, "upper level").residual
    assert still is not None
    assert still.highest is Band.AS_BEFORE


def test_what_opacifies_ends_where_the_contrast_was_taken_away(
    joined_tables: JoinedTables, shut_run: Path
) -> None:
    found = compared(joined_tables, shut_run)
    trunk = [part for part in found.opacifies if part.vessel == "trunk"]
    # Windows are 5 mm long.
    assert trunk[-1].to_mm == pytest.approx(SHUT_AT_MM, abs=5.0)
    assert zone(found, "upper level").beyond != ()
    assert zone(found, "distal level").beyond == ()


def test_contrast_that_came_another_way_is_told_beside_a_shut_zone(
    joined_tables: JoinedTables,
) -> None:
    # Empty from 60 to 100 mm along the trunk, filled again below: a collateral brought it there.
    rows = [row_at(joined_tables.vein_map, arc_mm) for arc_mm in (SHUT_AT_MM, 100.0)]
    frames = without_contrast_below(joined_tables.table, *rows)
    found = compared(joined_tables, joined_tables.table.write("refilled", UPPER, frames))
    shut = zone(found, "distal level")
    assert shut.state is ZoneState.SHUT
    assert shut.text.endswith("yet further on contrast is seen: it came another way")
    assert shut.beyond[0].from_mm == pytest.approx(100.0, abs=6.0)
    assert zone(found, "lowest level").state is ZoneState.STILL_OPACIFIES


def test_a_vein_that_breathing_moved_on_the_bones_is_still_seen_open(
    joined_tables: JoinedTables,
) -> None:
    # 11 px up and 6 px to the left: 12.5 px at 0.31 mm are 3.9 mm, the hard level's amplitude.
    frames = with_contrast_moved(joined_tables.table, -6, -11)
    file = joined_tables.table.write("breathed", UPPER, frames)
    found = compared(joined_tables, file)
    assert found.to_map_px is not None
    assert found.to_map_px[0][2] == pytest.approx(6.0, abs=2.0)
    assert {z.state for z in found.zones} == {ZoneState.STILL_OPACIFIES}


def test_the_same_run_again_is_still_open_everywhere(joined_tables: JoinedTables) -> None:
    found = compared(joined_tables, joined_tables.upper)
    assert {z.state for z in found.zones} == {ZoneState.STILL_OPACIFIES}
    assert "same-run" in {notice.code for notice in found.warnings}
    assert found.new_veins == ()


def test_a_run_in_which_nothing_reached_the_ostium_shows_nothing(
    joined_tables: JoinedTables, unreached_run: Path
) -> None:
    # Practitioner's review, third situation: never "shut".
    found = compared(joined_tables, unreached_run)
    assert found.ostium_reached is False
    for judged in found.zones:
        assert judged.state is ZoneState.NOT_SHOWN
        assert judged.text.startswith("not shown: inject the renal vein with Valsalva")


def test_without_an_ostium_on_the_map_nothing_is_called_shut(
    joined_tables: JoinedTables, shut_run: Path
) -> None:
    no_ostium = replace(joined_tables.vein_map, landmarks=Landmarks())
    found = compared(joined_tables, shut_run, vein_map=no_ostium)
    assert "inject the renal vein with Valsalva" in zone(found, "distal level").text
    assert ZoneState.SHUT not in {z.state for z in found.zones}


@pytest.mark.parametrize(
    ("conditions", "why"),
    [
        (Conditions(), "not known of both: injection site, Valsalva, table tilt"),
        (replace(STRAIN, valsalva=False), "Valsalva differ"),
        (replace(STRAIN, tilt_deg=20.0), "table tilt differ"),
        (replace(STRAIN, tip_site="gonadal vein"), "injection site differ"),
    ],
)
def test_runs_under_other_conditions_are_not_compared_and_it_says_why(
    joined_tables: JoinedTables, shut_run: Path, conditions: Conditions, why: str
) -> None:
    found = compared(joined_tables, shut_run, conditions)
    assert (found.comparable, found.why) == (False, why)
    assert zone(found, "distal level").state is ZoneState.NOT_SHOWN
    assert "not comparable" in zone(found, "distal level").text
    assert all(z.residual is None for z in found.zones)
    # Contrast that is seen is seen, whatever the conditions.
    assert zone(found, "upper level").state is ZoneState.STILL_OPACIFIES


def test_another_angle_shows_nothing_of_the_maps_zones(joined_tables: JoinedTables) -> None:
    oblique = joined_tables.table.write("c-oblique", UPPER, PositionerPrimaryAngle=30)
    found = compared(joined_tables, oblique)
    assert (found.comparable, found.to_map_px, found.new_veins) == (False, None, None)
    assert {z.state for z in found.zones} == {ZoneState.NOT_SHOWN}
    assert "another angle" in found.why


def test_a_run_of_the_other_side_is_refused(joined_tables: JoinedTables) -> None:
    right = joined_tables.table.write("c-right", UPPER, ImageLaterality="R")
    left = replace(joined_tables.vein_map, side=Side.LEFT)
    with pytest.raises(FileProblem, match=r"Laterality: right, but the map is of the left side"):
        compared(joined_tables, right, vein_map=left)


def test_whether_both_runs_are_of_one_study_is_told(joined_tables: JoinedTables) -> None:
    # A map knows no patient; the Study Instance UID is what one examination has in common.
    def said(file: Path) -> set[str]:
        return {notice.code for notice in compared(joined_tables, file).warnings}

    same = joined_tables.table.write("c-same", UPPER)
    other = joined_tables.table.write("c-other", UPPER, StudyInstanceUID="1.2.3.4")
    unstated = joined_tables.table.write("c-none", UPPER, StudyInstanceUID=None)
    judged = {"patient-not-on-map", "another-study"}
    assert said(same) & judged == set()
    assert said(other) & judged == {"another-study"}
    assert said(unstated) & judged == {"patient-not-on-map"}


def test_a_run_without_a_scale_of_its_own_takes_the_maps_and_says_so(
    joined_tables: JoinedTables,
) -> None:
    # Every pixel written twice in both directions: the same field in a finer matrix.
    top, bottom, left, right = UPPER
    table = joined_tables.table
    fine = table.rendered.frames.repeat(2, axis=1).repeat(2, axis=2)
    window = (2 * top, 2 * bottom, 2 * left, 2 * right)
    file = table.write("fine", window, fine, ImagerPixelSpacing=None)
    found = compared(joined_tables, file)
    assert "scale-of-map" in {notice.code for notice in found.warnings}
    assert found.to_map_px is not None
    assert found.to_map_px[0][0] == 0.5
    assert {z.state for z in found.zones} == {ZoneState.STILL_OPACIFIES}


def test_a_zone_outside_the_picture_is_not_shown(
    joined_tables: JoinedTables, shut_run: Path
) -> None:
    trunk = joined_tables.vein_map.trunk
    assert trunk is not None
    below = AskedZone(
        name="below",
        zone=Stretch(vessel="trunk", from_mm=trunk.arc_mm[-1] - 15, to_mm=trunk.arc_mm[-1] - 3),
    )
    run = CompletionRun(run=read_run(shut_run), header=read_header(shut_run), conditions=STRAIN)
    found = compare_with_map(
        joined_tables.vein_map, joined_tables.map_file, run, (below,)
    ).comparison
    assert found.zones[0].text == "not shown: it lies outside the picture or its open field"


def test_a_map_that_keeps_no_bones_is_told_to_be_measured_again(
    joined_tables: JoinedTables, shut_run: Path
) -> None:
    runs = tuple(replace(run, place=None) for run in joined_tables.vein_map.runs)
    with pytest.raises(FileProblem, match=r"map\.json: runs\.0\.place: the map keeps no picture"):
        compared(joined_tables, shut_run, vein_map=replace(joined_tables.vein_map, runs=runs))


def test_the_command_writes_the_comparison_and_says_it(
    joined_tables: JoinedTables, shut_run: Path, coilwright_program: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out.json"
    command: list[str | Path] = [
        coilwright_program, "compare", joined_tables.map_file, shut_run, "--json", out,
        "--tip-site", "left renal vein", "--valsalva", "--tilt-deg", "0",
        "--picture", tmp_path / "out.png",
    ]  # fmt: skip
    done = subprocess.run(command, check=False, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "out.png").read_bytes().startswith(b"\x89PNG")
    document = json.loads(out.read_text())
    assert (document["format"], document["version"]) == ("coilwright.comparison", 1)
    assert document["comparable"] is True
    names = [z["name"] for z in document["zones"]]
    assert names == [vessel.id for vessel in joined_tables.vein_map.vessels]
    assert "comparable with the run before" in done.stdout
    assert "veins not on the map before: looked for, none seen in this run" in done.stdout
    assert "not approved for clinical use" in done.stdout
    assert "%" not in done.stdout


def test_a_plan_of_another_map_is_refused(
    joined_tables: JoinedTables, shut_run: Path, tmp_path: Path
) -> None:
    plan = tmp_path / "plan.json"
    plan.write_text('{"format": "coilwright.plan", "version": 1}')
    with pytest.raises(FileProblem, match=r"plan\.json: "):
        compare_runs(joined_tables.map_file, shut_run, STRAIN, plan)


def test_a_map_that_is_not_there_is_named(joined_tables: JoinedTables, tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"gone\.json: file: no such file"):
        compare_runs(tmp_path / "gone.json", joined_tables.upper, STRAIN)
    other = tmp_path / "old.json"
    other.write_text(vein_map_to_json(replace(joined_tables.vein_map, runs=())))
    with pytest.raises(FileProblem, match=r"old\.json: runs: the map holds no run"):
        compare_runs(other, joined_tables.upper, STRAIN)
