"""The README's pictures, made from the demo: ``python scripts/screenshots.py``.

Runs the demo into a folder of its own, serves it and looks at it with the chromium that CHROMIUM
names, or the one on the path. Writes into docs/screenshots/.
"""

import datetime as dt
import os
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal

import uvicorn
from playwright.sync_api import Browser, sync_playwright

from coilwright.web import case_app, open_loopback, shown_case
from coilwright.workflow.plan_folder import load_planned

OUT = Path(__file__).parents[1] / "docs" / "screenshots"
DOWNLOADS = ("report.pdf", "plan.json", "pull-list.json", "vein-map.json", "map.png")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


def main() -> None:
    """Take every picture anew."""
    program = os.environ.get("CHROMIUM") or shutil.which("chromium")
    if program is None:
        sys.exit("no chromium on this machine: set CHROMIUM=/path/to/chromium")
    OUT.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch, sync_playwright() as driver:
        folder = Path(scratch)
        command = Path(sys.executable).with_name("coilwright")
        subprocess.run([command, "demo", "--out", folder, "--no-serve"], check=True)
        browser = driver.chromium.launch(executable_path=program, args=ARGUMENTS)
        with _served(folder) as address:
            _take(browser, address, "case-light.png", (1280, 800), "light")
            _take(browser, address, "case-dark.png", (1920, 1080), "dark")
            _take(browser, address, "case-tablet.png", (820, 1180), "light")
        browser.close()


@contextmanager
def _served(folder: Path) -> Iterator[str]:
    """The pages of a finished demo on a free port, for as long as the block runs."""
    planned = load_planned(folder / "case.toml", folder, today=dt.date.today())
    app = case_app(shown_case(planned, {name: (folder / name).read_bytes() for name in DOWNLOADS}))
    with open_loopback("127.0.0.1", 0) as sock:
        server = uvicorn.Server(uvicorn.Config(app, log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [sock]})
        thread.start()
        try:
            yield f"http://127.0.0.1:{sock.getsockname()[1]}/"
        finally:
            server.should_exit = True
            thread.join()


def _take(
    browser: Browser,
    address: str,
    name: str,
    size: tuple[int, int],
    scheme: Literal["light", "dark"],
) -> None:
    width, height = size
    with browser.new_context(
        viewport={"width": width, "height": height}, color_scheme=scheme
    ) as context:
        page = context.new_page()
        page.goto(address, wait_until="networkidle")
        drawing = page.locator("#straightened svg").bounding_box()
        if drawing is not None:
            # A place along the vein is pointed at, so that the link to the picture shows.
            x = drawing["x"] + 0.42 * drawing["width"]
            page.mouse.move(x, drawing["y"] + 0.45 * drawing["height"])
        page.screenshot(path=OUT / name)
        print(f"wrote {OUT / name}")


if __name__ == "__main__":
    main()
