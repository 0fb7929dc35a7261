"""The demo's rendered case, made once: rendering and measuring take seconds each."""

import datetime as dt
import tempfile
from functools import cache
from pathlib import Path

from coilwright.demo.write_demo import write_demo_case
from coilwright.workflow.plan_case import plan_case
from coilwright.workflow.plan_folder import outputs
from coilwright.workflow.planned_case import PlannedCase

DAY = dt.date(2026, 3, 12)


@cache
def rendered_files() -> dict[str, bytes]:
    """case.toml, kit.toml and run.dcm of the demo."""
    with tempfile.TemporaryDirectory() as name:
        write_demo_case(Path(name), lambda _: None)
        return {file.name: file.read_bytes() for file in Path(name).iterdir()}


@cache
def plan_files() -> dict[str, bytes]:
    """What planning the demo's case writes."""
    with tempfile.TemporaryDirectory() as name:
        return outputs(planned_in(Path(name)))


def planned_in(folder: Path) -> PlannedCase:
    """The demo's case planned from files in ``folder``."""
    return plan_case(write_case(folder), today=DAY)


def write_case(folder: Path, *edits: tuple[str, str]) -> Path:
    """The demo's files in ``folder``, each edit of the case file made once."""
    for name, content in rendered_files().items():
        (folder / name).write_bytes(content)
    file = folder / "case.toml"
    text = file.read_text(encoding="utf-8")
    for before, after in edits:
        assert text.count(before) == 1, before
        text = text.replace(before, after)
    file.write_text(text, encoding="utf-8")
    return file


def write_plan(folder: Path) -> Path:
    """The demo's plan in a folder of its own."""
    out = folder / "plan"
    out.mkdir()
    for name, content in plan_files().items():
        (out / name).write_bytes(content)
    return out


def without_run(folder: Path) -> Path:
    """The demo's case before any run has arrived."""
    file = write_case(folder)
    text = file.read_text(encoding="utf-8")
    start, end = text.index("[[runs]]"), text.index("[kit]")
    file.write_text(text[:start] + text[end:], encoding="utf-8")
    return file
