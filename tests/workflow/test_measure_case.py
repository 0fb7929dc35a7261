"""The runs of a case made one map: what belongs to it, and what is left out with its reason."""

import json
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.record import CaseRun
from coilwright.veins import Conditions, Landmark, Landmarks, Side, VeinMap
from coilwright.workflow.measure_case import MeasuredCase, measure_case
from venogram.tables import LOWER, LOWER_ON_UPPER_XY, UPPER, Table, rendered_table

pytestmark = pytest.mark.xdist_group("tables")

STRAIN = Conditions(tip_site="left renal vein", valsalva=True)
MARK = Landmark(point_px=(200.0, 300.0), sd_mm=4.0, how="marked by the operator")


@pytest.fixture(scope="module")
def table(tmp_path_factory: pytest.TempPathFactory) -> Table:
    return rendered_table(tmp_path_factory.mktemp("case"))


@pytest.fixture(scope="module")
def of_case(table: Table) -> tuple[MeasuredCase, list[str]]:
    """Two tables of one vein, then three files that do not belong on their map."""
    upper, lower = table.write("upper", UPPER), table.write("lower", LOWER)
    oblique = table.write("oblique", LOWER, PositionerPrimaryAngle=25)
    stranger = table.write("stranger", LOWER, PatientID="DEMO-OTHER")
    letter = table.folder / "letter.dcm"
    letter.write_text("not a run")
    size_fr = table.truth.catheter.size_fr
    runs = [
        CaseRun(file=upper, catheter_fr=size_fr, side=Side.LEFT, conditions=STRAIN),
        CaseRun(
            file=lower,
            catheter_fr=size_fr,
            side=Side.LEFT,
            landmarks=Landmarks(superior_ramus_edge=MARK),
        ),
        CaseRun(file=lower, side=Side.RIGHT),
        CaseRun(file=oblique, catheter_fr=size_fr),
        CaseRun(file=stranger, catheter_fr=size_fr),
        CaseRun(file=letter),
    ]
    steps: list[str] = []
    return measure_case(runs, steps.append), steps


@pytest.fixture(scope="module")
def vein_map(of_case: tuple[MeasuredCase, list[str]]) -> VeinMap:
    return of_case[0].measured.vein_map


def test_both_tables_are_on_the_map(vein_map: VeinMap) -> None:
    assert len(vein_map.runs) == 2
    assert vein_map.trunk is not None
    assert vein_map.trunk.runs == (0, 1)


def test_each_run_keeps_what_was_said_of_it_and_no_more(vein_map: VeinMap) -> None:
    first, second = (run.conditions for run in vein_map.runs)
    assert (first.tip_site, first.valsalva) == ("left renal vein", True)
    assert (second.tip_site, second.valsalva) == (None, None)


def test_a_mark_on_the_second_run_lies_at_its_place_on_the_map(vein_map: VeinMap) -> None:
    mark = vein_map.landmarks.superior_ramus_edge
    assert mark is not None
    # The window was cut 220 rows lower and 24 columns to the right.
    expected = (200.0 + LOWER_ON_UPPER_XY[0], 300.0 + LOWER_ON_UPPER_XY[1])
    assert mark.point_px == pytest.approx(expected, abs=2.0)


def test_what_does_not_belong_is_left_out_with_its_reason(
    of_case: tuple[MeasuredCase, list[str]],
) -> None:
    why = {one.why.split(": ")[1] if ": " in one.why else one.why for one in of_case[0].left_out}
    names = [one.file.name for one in of_case[0].left_out]
    assert names == ["lower.dcm", "oblique.dcm", "stranger.dcm", "letter.dcm"]
    assert {"side", "PatientID", "file"} <= why
    assert "another angle" in of_case[0].left_out[1].why
    assert "DEMO" not in json.dumps([one.why for one in of_case[0].left_out])


def test_progress_names_each_run(of_case: tuple[MeasuredCase, list[str]]) -> None:
    assert of_case[1][:2] == ["reading upper.dcm", "measuring upper.dcm"]
    assert "joining lower.dcm" in of_case[1]


def test_a_first_run_that_cannot_be_measured_is_the_cases_own_fault(tmp_path: Path) -> None:
    letter = tmp_path / "letter.dcm"
    letter.write_text("not a run")
    with pytest.raises(FileProblem, match=r"letter\.dcm: file: not a DICOM file"):
        measure_case([CaseRun(file=letter)], lambda _: None)
