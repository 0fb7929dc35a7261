"""`coilwright report`, and that command line and report say the same."""

import re
from pathlib import Path

import typer
from pypdf import PdfReader
from typer.testing import CliRunner, Result

from coilwright.cli.plan import plan, say_plan
from coilwright.cli.report import report
from coilwright.workflow.plan_folder import load_planned
from workflow.rendered_case import DAY, write_case, write_plan

APP = typer.Typer(pretty_exceptions_enable=False)
APP.command()(plan)
APP.command()(report)


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(APP, [str(word) for word in words])


def bare(words: str) -> str:
    return re.sub(r"\s", "", words)


def test_a_planned_case_becomes_a_pdf(tmp_path: Path) -> None:
    pdf = tmp_path / "report.pdf"
    done = run("report", write_case(tmp_path), "--plan", write_plan(tmp_path), "--out", pdf)
    assert done.exit_code == 0, done.output
    assert f"wrote {pdf}" in done.output
    assert len(PdfReader(pdf).pages) == 3


def test_the_command_line_and_the_report_show_the_same_figures(tmp_path: Path) -> None:
    case, out, pdf = write_case(tmp_path), write_plan(tmp_path), tmp_path / "report.pdf"
    run("report", case, "--plan", out, "--out", pdf)
    text = bare("".join(sheet.extract_text() for sheet in PdfReader(pdf).pages))
    shown = typer.Typer()
    shown.command()(lambda: say_plan(load_planned(case, out, today=DAY)))
    said = CliRunner().invoke(shown, []).output
    relaxed = re.findall(r"relaxed calibre ([\d.]+ ± [\d.]+ mm); first (.+)", said)
    assert len(relaxed) == 3
    for calibre, first in relaxed:
        assert bare(calibre) in text
        assert bare(first) in text


def test_a_report_without_a_plan_names_the_mend_and_writes_nothing(tmp_path: Path) -> None:
    pdf = tmp_path / "report.pdf"
    done = run("report", write_case(tmp_path), "--plan", tmp_path / "nowhere", "--out", pdf)
    assert done.exit_code == 2
    assert done.stderr == "plan.json: file: not there; run coilwright plan first.\n"
    assert not pdf.exists()


def test_a_tampered_plan_ends_in_status_two_and_writes_nothing(tmp_path: Path) -> None:
    out, pdf = write_plan(tmp_path), tmp_path / "report.pdf"
    text = (out / "plan.json").read_text(encoding="utf-8")
    (out / "plan.json").write_text(text.replace('"advised": true', '"advised": false', 1), "utf-8")
    done = run("report", write_case(tmp_path), "--plan", out, "--out", pdf)
    assert done.exit_code == 2
    assert not pdf.exists()
    assert "Traceback" not in done.output


def test_a_report_into_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    pdf = tmp_path / "nowhere" / "report.pdf"
    done = run("report", write_case(tmp_path), "--plan", write_plan(tmp_path), "--out", pdf)
    assert done.exit_code == 2
    assert "output: no such file or directory" in done.stderr
