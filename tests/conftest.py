"""What every test shares: no chance in property tests, one browser, one finished demo."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, sync_playwright

from demo.ready import ReadyDemo

# The same examples on every machine, and no failure for being slow on a busy one.
settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

CHROMIUM_ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """A chromium without a window; without one, a skip that shows, and a failure where CI is set.

    The program is the one that CHROMIUM names, else the one on the path.
    """
    program = os.environ.get("CHROMIUM") or shutil.which("chromium")
    if program is None:
        if os.environ.get("CI"):
            pytest.fail("no chromium: browser tests must run where CI is set")
        pytest.skip("no chromium on this machine: set CHROMIUM=/path/to/chromium")
    with sync_playwright() as driver:
        chromium = driver.chromium.launch(executable_path=program, args=CHROMIUM_ARGUMENTS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def coilwright_program() -> Path:
    """The installed command, as a person starts it."""
    return Path(sys.executable).with_name("coilwright")


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory, coilwright_program: Path) -> ReadyDemo:
    """The demo, made once by its own command. Tests that use it share one worker's group."""
    folder = tmp_path_factory.mktemp("demo") / "out"
    command: list[str | Path] = [coilwright_program, "demo", "--out", folder, "--no-serve"]
    done = subprocess.run(command, check=True, capture_output=True, text=True, timeout=600)
    return ReadyDemo(folder=folder, said=done.stdout)
