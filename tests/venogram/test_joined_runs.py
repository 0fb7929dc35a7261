"""Two tables of one rendered run: the true shift is that of the windows that were cut out."""

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from coilwright.errors import FileProblem
from coilwright.veins import Side
from coilwright.venogram import ScaleChoice, read_header, require_one_patient
from coilwright.venogram.joined_runs import PlacedRun, by_table, join_runs, with_place
from coilwright.venogram.measure import MeasuredRunFile
from coilwright.venogram.run_place import other_view
from coilwright.workflow.measure_runs import measure_runs
from venogram.conftest import JoinedTables
from venogram.tables import LOWER, LOWER_ON_UPPER_XY, UPPER

pytestmark = pytest.mark.xdist_group("tables")


def test_the_second_run_lies_where_its_window_was_cut(joined_tables: JoinedTables) -> None:
    first, second = joined_tables.vein_map.runs
    assert first.to_map_px == ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0))
    found = np.array([second.to_map_px[0][2], second.to_map_px[1][2]])
    mm = joined_tables.table.truth.scale.over_trunk
    assert np.hypot(*(found - LOWER_ON_UPPER_XY)) * mm < 0.5


def test_one_trunk_goes_through_both_pictures(joined_tables: JoinedTables) -> None:
    trunk = joined_tables.vein_map.trunk
    assert trunk is not None
    assert trunk.runs == (0, 1)
    top, _, left, _ = UPPER
    truth = np.array(joined_tables.table.truth.trunk.points_px) - (left, top)
    # The lower window ends 220 rows below the upper one's last, on row 700 of the map's grid.
    shown = truth[(truth[:, 1] > 60) & (truth[:, 1] < LOWER[1] - top - 8)]
    away, _ = cKDTree(np.array(trunk.points_px)).query(shown)
    mm = joined_tables.table.truth.scale.over_trunk
    assert (away * mm < 1.0).mean() > 0.98


def test_the_joined_calibre_is_true_on_both_tables(joined_tables: JoinedTables) -> None:
    trunk, truth = joined_tables.vein_map.trunk, joined_tables.table.truth
    assert trunk is not None
    top, _, left, _ = UPPER
    points = np.array(truth.trunk.points_px) - (left, top)
    away, nearest = cKDTree(points).query(np.array(trunk.points_px))
    known = np.array([d is not None for d in trunk.diameter_mm]) & (away < 4)
    found = np.array([d or np.nan for d in trunk.diameter_mm])[known]
    true = np.array(truth.trunk.diameter_mm)[nearest][known]
    assert np.abs(found / true - 1.0).mean() < 0.08


def test_what_a_person_did_is_on_the_map_and_in_what_was_said(joined_tables: JoinedTables) -> None:
    assert [e.what for e in joined_tables.vein_map.edits] == ["conditions", "conditions", "add"]
    assert [run.conditions.valsalva for run in joined_tables.vein_map.runs] == [True, True]
    assert "changed by A. Invented: drew by-hand by hand" in joined_tables.said


def test_a_path_drawn_along_the_trunk_measures_the_trunk(joined_tables: JoinedTables) -> None:
    drawn = joined_tables.vein_map.vessel("by-hand")
    truth = joined_tables.table.truth.trunk
    assert drawn.diameter_method.value == "profile"
    top, _, left, _ = UPPER
    _, nearest = cKDTree(np.array(truth.points_px) - (left, top)).query(np.array(drawn.points_px))
    true_mm = float(np.median(np.array(truth.diameter_mm)[nearest]))
    known = [d for d in drawn.diameter_mm if d is not None]
    assert np.median(known) == pytest.approx(true_mm, rel=0.08)


def test_the_same_conditions_are_said_of_the_joined_calibre(joined_tables: JoinedTables) -> None:
    notices = {n.code: n.text for n in joined_tables.vein_map.quality.warnings}
    assert "the same Valsalva, table tilt" in notices["runs-joined"]


def placed(file: Path, measured: MeasuredRunFile) -> PlacedRun:
    return PlacedRun(file=file, header=read_header(file), measured=measured)


def blank(joined: JoinedTables, file: Path, seed: int) -> PlacedRun:
    """A run with a mask of its own random texture, and the joined map's vessels."""
    texture = np.random.default_rng(seed).normal(size=(480, 440)).astype(np.float32)
    first = joined.vein_map.runs[0]
    one = MeasuredRunFile(vein_map=joined.vein_map, opacification=texture * 0, mask=texture + 5.0)
    return placed(file, with_place(one, read_header(file), first.conditions))


def test_runs_that_share_no_bone_are_refused_where_no_table_says_more(
    joined_tables: JoinedTables,
) -> None:
    one = blank(joined_tables, joined_tables.upper, 1)
    two = blank(joined_tables, joined_tables.lower, 2)
    with pytest.raises(FileProblem, match=r"lower\.dcm: runs: nothing says where it lies on upper"):
        join_runs([one, two])


def test_a_run_at_another_angle_is_left_out_and_the_map_says_why(
    joined_tables: JoinedTables,
) -> None:
    file = joined_tables.table.write("oblique", LOWER, PositionerPrimaryAngle=25)
    joined = join_runs(
        [blank(joined_tables, joined_tables.upper, 1), blank(joined_tables, file, 2)]
    ).vein_map
    assert len(joined.runs) == len(joined_tables.vein_map.runs)
    notice = joined.quality.warnings[-1]
    assert notice.code == "run-not-joined"
    assert "oblique.dcm not joined: taken at another angle (positioner primary" in notice.text


def test_runs_of_two_patients_are_refused_before_anything_is_measured(
    joined_tables: JoinedTables,
) -> None:
    stranger = joined_tables.table.write("stranger", LOWER, PatientID="DEMO-OTHER")
    with pytest.raises(FileProblem, match=r"stranger\.dcm: PatientID: names another") as caught:
        measure_runs([joined_tables.upper, stranger], ScaleChoice(catheter_fr=5.0))
    assert "DEMO" not in str(caught.value)


def test_runs_of_two_sides_are_refused(joined_tables: JoinedTables) -> None:
    left = joined_tables.table.write("left", UPPER, ImageLaterality="L")
    right = joined_tables.table.write("right", UPPER, ImageLaterality="R")
    assert read_header(left).laterality is Side.LEFT
    with pytest.raises(FileProblem, match=r"right\.dcm: Laterality: right, but left\.dcm is left"):
        require_one_patient([(left, read_header(left)), (right, read_header(right))])


def test_table_positions_give_the_shift_in_pixels(joined_tables: JoinedTables) -> None:
    # The table 62 mm towards the head and 9.3 mm to the patient's right: at the isocentre's scale
    # of s mm per pixel the picture shows what lies 62 / s pixels further down and 9.3 / s to the
    # right. Both windows have the same size, so their corners move by as much.
    at_rest = joined_tables.table.write(
        "table-1", UPPER, TableTopLongitudinalPosition=100, TableTopLateralPosition=20
    )
    moved = joined_tables.table.write(
        "table-2", UPPER, TableTopLongitudinalPosition=162, TableTopLateralPosition=10.7
    )
    one = blank(joined_tables, at_rest, 1)
    two = blank(joined_tables, moved, 2)
    scale = joined_tables.table.truth.scale.at_isocentre
    assert by_table(one, two, 1.0) == pytest.approx((9.3 / scale, 62 / scale), rel=1e-6)


def test_a_tilted_table_is_read_from_the_header(joined_tables: JoinedTables) -> None:
    tilted = joined_tables.table.write("tilted", UPPER, TableAngle=15)
    assert read_header(tilted).tilt_deg == 15.0


def test_views_within_two_degrees_are_the_same(joined_tables: JoinedTables) -> None:
    near = joined_tables.table.write("near", UPPER, PositionerSecondaryAngle=1.5)
    far = joined_tables.table.write("far", UPPER, PositionerSecondaryAngle=-10)
    straight = read_header(joined_tables.upper).place
    assert other_view(straight, read_header(near).place) is None
    assert "secondary angle -10 against 0" in (other_view(straight, read_header(far).place) or "")
