"""The operator's marks put into a case file, and the run's labels."""

import tomllib

import pydicom
import pytest

from coilwright.demo.case_marks import with_marks
from demo.ready import ReadyDemo

CASE = '# A case.\nformat = "coilwright.case"\n\n[[runs]]\nfile = "run.dcm"  # the run\n\n[kit]\n'
MARKS: dict[str, list[float] | float] = {"internal_ring_px": [427, 698], "sd_mm": 2.0}


def test_marks_go_into_the_run_and_every_other_line_stays() -> None:
    edited = with_marks(CASE, MARKS)
    assert tomllib.loads(edited)["runs"] == [
        {"file": "run.dcm", "marks": {"internal_ring_px": [427, 698], "sd_mm": 2.0}}
    ]
    kept = [line for line in edited.splitlines() if not line.startswith("marks")]
    assert kept == CASE.splitlines()


@pytest.mark.parametrize("runs", [0, 2])
def test_marks_are_refused_where_it_is_not_clear_which_run_they_are_of(runs: int) -> None:
    text = 'format = "coilwright.case"\n' + '[[runs]]\nfile = "run.dcm"\n' * runs
    with pytest.raises(ValueError, match=r"exactly one \[\[runs\]\]"):
        with_marks(text, MARKS)


def test_marks_never_take_the_place_of_marks_that_are_there() -> None:
    with pytest.raises(ValueError, match="has marks already"):
        with_marks(with_marks(CASE, MARKS), MARKS)


@pytest.mark.xdist_group("demo")
def test_the_run_is_labelled_with_the_patient_of_the_case_file(demo: ReadyDemo) -> None:
    run = pydicom.dcmread(demo.folder / "run.dcm", stop_before_pixels=True)
    case = tomllib.loads((demo.folder / "case.toml").read_text(encoding="utf-8"))
    assert run.PatientID == case["patient"]["id"]
    assert (run.PatientName.family_name, run.PatientName.given_name) == ("Tarn", "Oskar")
    # PS3.5 6.2: DA is YYYYMMDD.
    assert run.StudyDate == "20260312"
    assert run.PatientBirthDate == "19940903"


@pytest.mark.xdist_group("demo")
def test_the_written_case_has_both_bony_marks_inside_the_picture(demo: ReadyDemo) -> None:
    run = pydicom.dcmread(demo.folder / "run.dcm", stop_before_pixels=True)
    case = tomllib.loads((demo.folder / "case.toml").read_text(encoding="utf-8"))
    marks = case["runs"][0]["marks"]
    for name in ("internal_ring_px", "superior_ramus_edge_px"):
        x, y = marks[name]
        assert 0 <= x < run.Columns
        assert 0 <= y < run.Rows
    assert marks["sd_mm"] > 0
