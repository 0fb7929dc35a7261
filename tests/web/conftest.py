"""The demo's server, asked without a network."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from coilwright.web import case_app, shown_case
from coilwright.workflow.plan_folder import load_planned
from coilwright.workflow.planned_case import PlannedCase
from demo.ready import ReadyDemo

# The day of the demo's procedure; the page must not depend on the day it is looked at.
TODAY = dt.date(2026, 3, 12)


@pytest.fixture(scope="session")
def planned(demo: ReadyDemo) -> PlannedCase:
    """The demo's planned case, read back from its folder."""
    return load_planned(demo.folder / "case.toml", demo.folder, today=TODAY)


@pytest.fixture(scope="session")
def client(demo: ReadyDemo, planned: PlannedCase) -> Iterator[TestClient]:
    """A client of the demo's pages."""
    files = {path.name: path.read_bytes() for path in _downloads(demo.folder)}
    app = case_app(shown_case(planned, files))
    with TestClient(app, base_url="http://127.0.0.1") as client:
        yield client


def _downloads(folder: Path) -> list[Path]:
    return [
        folder / name
        for name in ("report.pdf", "plan.json", "pull-list.json", "vein-map.json", "map.png")
    ]
