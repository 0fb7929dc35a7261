"""A plan read back: only for the case it was made for, and only unchanged."""

import json
from pathlib import Path

import pydicom
import pytest

from coilwright.errors import FileProblem
from coilwright.workflow.plan_case import plan_case
from coilwright.workflow.plan_folder import load_planned, outputs
from coilwright.workflow.report import report_pdf_of
from workflow.rendered_case import DAY, plan_files, without_run, write_case, write_plan


def test_a_plan_reads_back_as_it_was_made(tmp_path: Path) -> None:
    case = write_case(tmp_path)
    planned = plan_case(case, today=DAY)
    out = tmp_path / "plan"
    out.mkdir()
    for name, content in outputs(planned).items():
        (out / name).write_bytes(content)
    assert load_planned(case, out, today=DAY) == planned


def test_what_was_given_since_counts_and_the_levels_stay(tmp_path: Path) -> None:
    out = write_plan(tmp_path)
    before = load_planned(write_case(tmp_path), out, today=DAY)
    later = ('volume = "8 mL", adrenaline', 'volume = "12 mL", adrenaline')
    after = load_planned(write_case(tmp_path, later), out, today=DAY)
    assert after.plan.levels == before.plan.levels
    (total,) = (a for a in after.plan.advisories if a.rule == "lidocaine-plain-max")
    # 12 mL of 1 %.
    assert total.value == pytest.approx(120.0)
    assert "Recorded as given 120 mg in all." in total.text


def test_a_side_that_was_changed_since_makes_the_plan_fall(tmp_path: Path) -> None:
    edit = ('[time_out]\nside = "left"', '[time_out]\nside = "right"')
    with pytest.raises(FileProblem, match=r"levels: no longer stands .*sides do not agree"):
        load_planned(write_case(tmp_path, edit), write_plan(tmp_path), today=DAY)


def test_a_plan_that_was_not_made_names_the_mend(tmp_path: Path) -> None:
    with pytest.raises(
        FileProblem, match=r"plan\.json: file: not there; run coilwright plan first"
    ):
        load_planned(write_case(tmp_path), tmp_path, today=DAY)


def test_a_plan_of_another_patient_is_refused(tmp_path: Path) -> None:
    case = write_case(tmp_path, ('[patient]\nid = "WF-204817"', '[patient]\nid = "WF-204818"'))
    with pytest.raises(FileProblem, match="the plan belongs to another case") as raised:
        load_planned(case, write_plan(tmp_path), today=DAY)
    assert "WF-2048" not in str(raised.value)


def test_a_plan_of_another_run_is_refused(tmp_path: Path) -> None:
    case = write_case(tmp_path)
    header = pydicom.dcmread(tmp_path / "run.dcm")
    header.SOPInstanceUID = header.file_meta.MediaStorageSOPInstanceUID = pydicom.uid.UID("2.25.1")
    header.save_as(tmp_path / "run.dcm", enforce_file_format=True)
    with pytest.raises(FileProblem, match="the plan was made for another run"):
        load_planned(case, write_plan(tmp_path), today=DAY)


def test_a_plan_made_before_the_run_arrived_is_refused_after(tmp_path: Path) -> None:
    out = tmp_path / "plan"
    out.mkdir()
    early = plan_case(without_run(tmp_path), today=DAY)
    for name, content in outputs(early).items():
        (out / name).write_bytes(content)
    with pytest.raises(FileProblem, match="another run; run coilwright plan again"):
        load_planned(write_case(tmp_path), out, today=DAY)


def test_a_run_stated_otherwise_since_is_refused(tmp_path: Path) -> None:
    case = write_case(tmp_path, ("catheter_fr = 5", "catheter_fr = 4"))
    with pytest.raises(FileProblem, match="what the case states of its runs has changed"):
        load_planned(case, write_plan(tmp_path), today=DAY)


def test_a_case_moved_to_another_folder_keeps_its_plan(tmp_path: Path) -> None:
    out = write_plan(tmp_path)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    read = load_planned(write_case(elsewhere), out, today=DAY)
    assert outputs(read) == plan_files()


def test_a_tampered_plan_is_refused(tmp_path: Path) -> None:
    case, out = write_case(tmp_path), write_plan(tmp_path)
    document = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    document["levels"][0]["relaxed"]["diameter_mm"] += 1.0
    (out / "plan.json").write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(FileProblem, match=r"plan\.json: sha256: the plan was changed"):
        load_planned(case, out, today=DAY)


@pytest.mark.parametrize("name", ["vein-map.json", "map.png"])
def test_a_file_beside_the_plan_that_was_changed_or_lost_is_refused(
    tmp_path: Path, name: str
) -> None:
    case, out = write_case(tmp_path), write_plan(tmp_path)
    (out / name).write_bytes((out / name).read_bytes() + b" ")
    with pytest.raises(FileProblem, match="was changed after the plan was made"):
        load_planned(case, out, today=DAY)
    (out / name).unlink()
    with pytest.raises(FileProblem, match=f"{name}: file: not there; run coilwright plan first"):
        load_planned(case, out, today=DAY)


def test_a_plan_without_what_it_was_made_for_is_refused(tmp_path: Path) -> None:
    case, out = write_case(tmp_path), write_plan(tmp_path)
    document = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    del document["made_for"]
    (out / "plan.json").write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(FileProblem, match="does not say what it was made for"):
        load_planned(case, out, today=DAY)


def test_the_limits_of_the_site_travel_with_the_plan(tmp_path: Path) -> None:
    overlay = tmp_path / "site.toml"
    overlay.write_text(
        'version = "7"\n'
        '[choices.lidocaine-label]\nvalue = "bnf"\nwhy = "local formulary"\n'
        'changed_by = "Dr Ansa Quill"\nchanged_on = 2026-01-05\n',
        encoding="utf-8",
    )
    case = without_run(tmp_path)
    out = tmp_path / "plan"
    out.mkdir()
    early = plan_case(case, today=DAY, overlay=overlay)
    for name, content in outputs(early).items():
        (out / name).write_bytes(content)
    read = load_planned(case, out, today=DAY)
    (total,) = (a for a in read.plan.advisories if a.rule == "lidocaine-plain-max")
    # British National Formulary: 200 mg plain.
    assert total.limit == pytest.approx(200.0)


def test_the_report_of_a_planned_case_is_a_pdf(tmp_path: Path) -> None:
    pdf = report_pdf_of(load_planned(write_case(tmp_path), write_plan(tmp_path), today=DAY))
    # ISO 32000-1, 7.5.2: a PDF begins with its version.
    assert pdf.startswith(b"%PDF-1.")
