"""`coilwright demo`: from run to report and page; and the same figures on every face."""

import json
import re
import subprocess
from html import unescape
from pathlib import Path

import httpx2
import pytest
from pypdf import PdfReader

from cli.served import served
from demo.ready import ReadyDemo, one_line

pytestmark = pytest.mark.xdist_group("demo")

WRITTEN = {
    "run.dcm",
    "case.toml",
    "kit.toml",
    "shelf.csv",
    "vein-map.json",
    "map.png",
    "plan.json",
    "pull-list.json",
    "report.pdf",
}


def test_demo_writes_every_file_and_says_where_it_lies(demo: ReadyDemo) -> None:
    assert {path.name for path in demo.folder.iterdir()} == WRITTEN
    for name in WRITTEN:
        assert str(demo.folder / name) in demo.said


def test_demo_says_each_step_with_its_seconds(demo: ReadyDemo) -> None:
    for step in ("rendering", "reading the case", "measuring", "planning", "writing the report"):
        (line,) = [line for line in demo.said.splitlines() if step in line and line.endswith(" s")]
        assert float(line.split()[-2]) >= 0


def test_demo_again_over_its_own_folder_touches_only_its_own_files(
    demo: ReadyDemo, coilwright_program: Path, tmp_path: Path
) -> None:
    other = tmp_path / "notes.txt"
    other.write_text("kept", encoding="utf-8")
    (tmp_path / "plan.json").write_text("from an earlier run", encoding="utf-8")
    command: list[str | Path] = [coilwright_program, "demo", "--out", tmp_path, "--port", "0"]
    with served(command) as server:
        assert "Tarn, Oskar" in httpx2.get(server.address).text
    assert (server.exit_code, server.complaint) == (0, "")
    assert other.read_text(encoding="utf-8") == "kept"
    assert {path.name for path in tmp_path.iterdir()} == WRITTEN | {"notes.txt"}
    # The same scene gives the same pixels, and the same pixels the same map.
    for name in ("run.dcm", "vein-map.json", "case.toml"):
        assert (tmp_path / name).read_bytes() == (demo.folder / name).read_bytes()


def test_demo_into_a_folder_that_cannot_be_made_is_one_clear_sentence(
    coilwright_program: Path, tmp_path: Path
) -> None:
    (tmp_path / "file").touch()
    out = tmp_path / "file" / "out"
    command: list[str | Path] = [coilwright_program, "demo", "--out", out, "--no-serve"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 2
    assert "name a folder that can be made and written to" in done.stderr
    assert "Traceback" not in done.stderr


def test_page_command_line_and_report_show_the_same_figures(
    demo: ReadyDemo, coilwright_program: Path
) -> None:
    # Three faces read as a person reads them. What they must show is taken from plan.json and
    # worded here by hand, so a face that rounds or leaves out a figure of its own fails.
    with served([coilwright_program, "serve", demo.folder, "--port", "0"]) as server:
        page = _words_of(httpx2.get(server.address).text)
    with PdfReader(demo.folder / "report.pdf") as reader:
        report = one_line(" ".join(sheet.extract_text() for sheet in reader.pages))
    said = one_line(demo.said)
    figures = _figures(json.loads((demo.folder / "plan.json").read_text(encoding="utf-8")))
    assert len(figures) >= 7
    for face, words in (("page", page), ("command line", said), ("report", report)):
        missing = [figure for figure in figures if figure not in words]
        assert not missing, f"the {face} does not show {missing}"


def _figures(plan: dict[str, object]) -> list[str]:
    """Scale, relaxed calibres, first coils with oversize, worded from the numbers of the plan."""
    calibration = plan["vein_map_calibration"]
    assert isinstance(calibration, dict)
    figures = [f"{calibration['mm_per_pixel']:.4f} mm per pixel"]
    levels = plan["levels"]
    assert isinstance(levels, list)
    for level in levels:
        relaxed = level["relaxed"]
        figures.append(f"{relaxed['diameter_mm']:.1f} ± {relaxed['sd_mm']:.1f} mm")
        first = next(c for c in level["choices"] if c["device"] == level["first_choice"])
        figures.append(first["name"])
        figures.append(f"{100 * (first['oversize_ratio'] - 1):.0f} % over")
    return figures


def _words_of(html: str) -> str:
    """The text between the tags of the page's body."""
    body = html.partition("<body>")[2].partition("<script")[0]
    return one_line(re.sub(r"<[^>]*>", "", unescape(body)))
