"""From a case file and a rendered run to a plan."""

import io
from dataclasses import replace
from pathlib import Path

import pydicom
import pytest
from PIL import Image

from coilwright.advice import Urgency
from coilwright.demo.case_marks import MARK_SD_MM
from coilwright.errors import FileProblem
from coilwright.planning import OcclusionPlan
from coilwright.veins import Landmark, Landmarks, vein_map_from_json
from coilwright.workflow.case_gate import held_back, side_of_map
from coilwright.workflow.measure_case import as_marked
from coilwright.workflow.plan_case import plan_case
from coilwright.workflow.plan_folder import load_planned, outputs
from coilwright.workflow.planned_case import PlannedCase
from workflow.rendered_case import DAY, plan_files, planned_in, without_run, write_case

PLAN = "plan.json"


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> PlannedCase:
    return planned_in(tmp_path_factory.mktemp("planned"))


def rules(plan: OcclusionPlan, urgency: Urgency) -> set[str]:
    return {advisory.rule for advisory in plan.advisories if advisory.urgency is urgency}


def test_a_rendered_run_gives_its_levels_the_far_one_first(planned: PlannedCase) -> None:
    # The middle one for the rendered duplicate, which runs past the distal level.
    assert [level.name.value for level in planned.plan.levels] == ["distal", "middle", "upper"]
    assert all(level.first_choice for level in planned.plan.levels)


def test_the_operators_marks_stand_and_the_measured_ostium_is_kept(planned: PlannedCase) -> None:
    assert planned.vein_map is not None
    marked = planned.case.runs[0].landmarks
    landmarks = planned.vein_map.landmarks
    assert marked.superior_ramus_edge is not None
    assert landmarks.superior_ramus_edge == marked.superior_ramus_edge
    assert landmarks.superior_ramus_edge.sd_mm == MARK_SD_MM
    assert marked.ostium is None
    assert landmarks.ostium is not None


def test_an_ostium_that_the_operator_marked_overrules_the_measured_one(
    planned: PlannedCase,
) -> None:
    assert planned.vein_map is not None
    mark = Landmark(point_px=(1.0, 2.0), sd_mm=3.0, how="marked")
    run = replace(planned.case.runs[0], landmarks=Landmarks(ostium=mark))
    stated = as_marked(planned.vein_map, run.landmarks)
    assert stated.landmarks.ostium == mark
    # What the new statement does not mark stays as it was.
    assert stated.landmarks.internal_ring == planned.vein_map.landmarks.internal_ring


def test_the_runs_conditions_travel_with_the_map(planned: PlannedCase) -> None:
    assert planned.vein_map is not None
    conditions = planned.vein_map.runs[0].conditions
    # As written in the demo's case file.
    assert (conditions.volume_ml, conditions.rate_ml_per_s, conditions.valsalva) == (6.0, 2.0, True)


def test_the_outputs_are_a_map_that_reads_back_a_picture_and_a_plan(planned: PlannedCase) -> None:
    written = outputs(planned)
    assert set(written) == {"vein-map.json", "map.png", "pull-list.json", PLAN}
    read = vein_map_from_json(written["vein-map.json"].decode(), Path("vein-map.json"))
    assert read == planned.vein_map
    with Image.open(io.BytesIO(written["map.png"])) as picture:
        assert picture.format == "PNG"


def test_the_same_case_gives_the_same_bytes(planned: PlannedCase) -> None:
    assert outputs(planned) == plan_files()


def test_progress_names_each_step(tmp_path: Path) -> None:
    steps: list[str] = []
    plan_case(without_run(tmp_path), today=DAY, progress=steps.append)
    assert steps == ["reading the case"]


def test_a_case_without_a_run_keeps_its_safety_advisories(tmp_path: Path) -> None:
    planned = plan_case(without_run(tmp_path), today=DAY)
    assert planned.vein_map is None
    assert planned.plan.levels == ()
    assert "run-not-arrived" in rules(planned.plan, Urgency.CAUTION)
    assert {"lidocaine-plain-max", "contrast-cigarroa"} <= rules(planned.plan, Urgency.INFO)
    assert "a run of the vein (runs)" in planned.plan.missing
    assert set(outputs(planned)) == {"pull-list.json", PLAN}
    assert "The plan has no levels." in planned.pull_list.no_coils_because


def test_sides_that_differ_hold_the_levels_back(tmp_path: Path) -> None:
    consent = ('[consent]\nside = "left"', '[consent]\nside = "right"')
    plan = plan_case(write_case(tmp_path, consent), today=DAY).plan
    assert plan.levels == ()
    assert {"side-agreement", "plan-held-back"} <= rules(plan, Urgency.STOP_AND_THINK)


def test_a_map_of_the_other_side_is_a_stop(planned: PlannedCase) -> None:
    assert planned.vein_map is not None
    assert planned.vein_map.side is not None
    other = next(side for side in type(planned.vein_map.side) if side != planned.vein_map.side)
    (stop,) = side_of_map(planned.case, replace(planned.vein_map, side=other))
    assert stop.urgency is Urgency.STOP_AND_THINK
    assert stop.text.startswith("The vein map is of the right side, but referral left")
    assert held_back(planned.case, (stop,)) == ("the sides do not agree: settle which side it is",)


def test_a_vein_that_may_be_the_kidneys_way_out_holds_the_levels_back(tmp_path: Path) -> None:
    compressed = ("compression_signs = false", "compression_signs = true")
    plan = plan_case(write_case(tmp_path, compressed), today=DAY).plan
    assert plan.levels == ()
    held = next(a for a in plan.advisories if a.rule == "plan-held-back")
    assert "record the pull-back gradient or the imaging" in held.text


def test_the_ovarian_vein_is_locked(tmp_path: Path) -> None:
    plan = plan_case(write_case(tmp_path, ('sex = "male"', 'sex = "female"')), today=DAY).plan
    assert plan.levels == ()
    held = next(a for a in plan.advisories if a.rule == "plan-held-back")
    assert "the ovarian vein has no rules of its own here yet" in held.text


def test_a_second_run_that_is_not_on_the_map_is_named_with_its_reason(tmp_path: Path) -> None:
    second = ("[kit]", '[[runs]]\nfile = "letter.dcm"\n\n[kit]')
    (tmp_path / "letter.dcm").write_text("not a run", encoding="utf-8")
    planned = plan_case(write_case(tmp_path, second), today=DAY)
    told = next(a for a in planned.plan.advisories if a.rule == "runs-not-on-map")
    assert told.urgency is Urgency.CAUTION
    assert told.text.startswith(
        "2 runs are named, 1 not on the map: letter.dcm: file: not a DICOM file"
    )
    # The plan stands on the run that could be measured, and can be reported on.
    assert planned.plan.levels
    assert load_planned(tmp_path / "case.toml", _written(planned, tmp_path), today=DAY).plan


def _written(planned: PlannedCase, folder: Path) -> Path:
    out = folder / "plan"
    out.mkdir()
    for name, content in outputs(planned).items():
        (out / name).write_bytes(content)
    return out


def test_without_a_kit_no_coil_is_chosen_and_it_is_said(tmp_path: Path) -> None:
    plan = plan_case(write_case(tmp_path, ('[kit]\nfile = "kit.toml"', "")), today=DAY).plan
    assert [level.choices for level in plan.levels] == [(), (), ()]
    assert "kit.file" in plan.missing


def test_a_run_of_another_patient_is_a_stop_that_repeats_no_id(tmp_path: Path) -> None:
    file = write_case(tmp_path)
    header = pydicom.dcmread(tmp_path / "run.dcm")
    header.PatientID = "SOMEBODY-ELSE"
    header.save_as(tmp_path / "run.dcm", enforce_file_format=True)
    plan = plan_case(file, today=DAY).plan
    stop = next(a for a in plan.advisories if a.rule == "run-patient")
    assert stop.urgency is Urgency.STOP_AND_THINK
    assert "another patient ID" in stop.text
    assert "SOMEBODY" not in stop.text
    assert "WF-204817" not in stop.text


def test_a_run_that_is_no_run_is_named(tmp_path: Path) -> None:
    file = write_case(tmp_path)
    (tmp_path / "run.dcm").write_text("not a run", encoding="utf-8")
    with pytest.raises(FileProblem, match=r"run\.dcm: file: not a DICOM file"):
        plan_case(file, today=DAY)


def test_the_limits_of_a_site_overlay_are_in_force(tmp_path: Path) -> None:
    overlay = tmp_path / "site.toml"
    overlay.write_text(
        'version = "7"\n'
        "[limits.distal-offset-above-floor]\nvalue = 15.0\nunit = 'mm'\nwhy = 'local audit'\n"
        "changed_by = 'Dr Ansa Quill'\nchanged_on = 2026-01-05\n",
        encoding="utf-8",
    )
    planned = plan_case(write_case(tmp_path), today=DAY, overlay=overlay)
    assert planned.protocol.limit("distal-offset-above-floor").value == 15.0


MARKS = """format = "coilwright.network-marks"
version = 1
catheter = {{ vessel = "trunk", at_mm = 0.0, outer_diameter_mm = 0.9 }}

[[protected]]
vessel = "{vessel}"
by = "Sorrel, A."
at = 2026-03-12T09:00:00
why = "drains the kidney"
"""
NETWORK = ("[kit]", '[network_marks]\nfile = "marks.toml"\n\n[kit]')


def test_network_marks_of_the_case_reach_the_plan(tmp_path: Path) -> None:
    (tmp_path / "marks.toml").write_text(MARKS.format(vessel="side-vein-1"), encoding="utf-8")
    plan = plan_case(write_case(tmp_path, NETWORK), today=DAY).plan
    assert plan.techniques is not None
    against = "; ".join(one.text for row in plan.techniques.rows for one in row.against)
    assert "side-vein-1" in against
    assert "marked to stay open" in against


def test_network_marks_that_do_not_fit_the_map_are_refused_by_their_file(tmp_path: Path) -> None:
    (tmp_path / "marks.toml").write_text(MARKS.format(vessel="aorta"), encoding="utf-8")
    with pytest.raises(FileProblem, match=r"marks\.toml: protected 1, vessel: not on the map"):
        plan_case(write_case(tmp_path, NETWORK), today=DAY)
