"""`coilwright plan` as a person meets it."""

from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner, Result

from coilwright.cli.plan import plan
from coilwright.cli.report import report
from workflow.rendered_case import write_case

APP = typer.Typer(pretty_exceptions_enable=False)
APP.command()(plan)
APP.command()(report)


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(APP, [str(word) for word in words])


def test_a_case_is_planned_into_a_new_folder_and_says_where(tmp_path: Path) -> None:
    out = tmp_path / "new" / "plan"
    done = run("plan", write_case(tmp_path), "--out", out)
    assert done.exit_code == 0, done.output
    written = ("map.png", "plan.json", "pull-list.json", "vein-map.json")
    assert sorted(file.name for file in out.iterdir()) == list(written)
    for name in written:
        assert f"wrote {out / name}" in done.output
    assert "measuring run.dcm ..." in done.output
    assert "1. Distal level, lower end" in done.output
    assert "chance undersized" in done.output
    assert "not approved for clinical use" in done.output


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (('weight = "78 kg"', 'weight = "78 mmol"'), "case.toml: patient.weight"),
        (("catheter_fr = 5", "catheter_fr = 500"), "case.toml: runs[0].catheter_fr"),
        (('file = "run.dcm"', 'file = "kit.toml"'), "kit.toml: file: not a DICOM file"),
    ],
)
def test_what_needs_mending_is_one_sentence_and_leaves_nothing(
    tmp_path: Path, edit: tuple[str, str], said: str
) -> None:
    out = tmp_path / "new" / "plan"
    done = run("plan", write_case(tmp_path, edit), "--out", out)
    assert done.exit_code == 2
    assert said in done.stderr
    assert "Traceback" not in done.output
    assert not (tmp_path / "new").exists()


def test_a_failed_plan_leaves_the_folders_earlier_files_alone(tmp_path: Path) -> None:
    out = tmp_path / "plan"
    out.mkdir()
    (out / "plan.json").write_text("an earlier one", encoding="utf-8")
    case = write_case(tmp_path, ('sex = "male"', 'sex = "unclear"'))
    assert run("plan", case, "--out", out).exit_code == 2
    assert [(f.name, f.read_text("utf-8")) for f in out.iterdir()] == [
        ("plan.json", "an earlier one")
    ]


def test_a_folder_that_cannot_be_made_is_named(tmp_path: Path) -> None:
    in_the_way = tmp_path / "plan"
    in_the_way.write_text("a file", encoding="utf-8")
    done = run("plan", write_case(tmp_path), "--out", in_the_way)
    assert done.exit_code == 2
    assert "plan: --out: file exists; name a folder" in done.stderr


def test_an_overlay_that_cannot_be_used_is_named(tmp_path: Path) -> None:
    done = run(
        "plan", write_case(tmp_path), "--out", tmp_path / "p", "--overlay", tmp_path / "no.toml"
    )
    assert done.exit_code == 2
    assert "no.toml" in done.stderr
    assert not (tmp_path / "p").exists()
