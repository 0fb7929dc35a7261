"""`coilwright serve`: the real command, asked over the network as a browser asks."""

import re
import shutil
import socket
import subprocess
from pathlib import Path

import httpx2
import pytest

from cli.served import served
from demo.ready import ReadyDemo

pytestmark = pytest.mark.xdist_group("demo")


def refused(program: Path, *arguments: str | Path) -> str:
    """What a refused command says on standard error; it must end with exit status 2."""
    done = subprocess.run(
        [program, "serve", *arguments], capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    return done.stderr


def test_served_page_answers_at_the_printed_address_and_ctrl_c_ends_it_cleanly(
    demo: ReadyDemo, coilwright_program: Path
) -> None:
    with served([coilwright_program, "serve", demo.folder, "--port", "0"]) as server:
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", server.address)
        page = httpx2.get(server.address)
        assert page.status_code == 200
        # The invented patient of the demo's case.toml.
        assert "Tarn, Oskar" in page.text
        assert httpx2.get(f"{server.address}files/report.pdf").content.startswith(b"%PDF-")
    assert server.exit_code == 0
    assert server.complaint == ""


@pytest.mark.parametrize("host", ["0.0.0.0", "192.0.2.7", "::", "station.example"])
def test_an_address_that_others_can_reach_is_refused(
    host: str, demo: ReadyDemo, coilwright_program: Path
) -> None:
    # 192.0.2.0/24 and .example are kept for examples: RFC 5737, RFC 2606.
    said = refused(coilwright_program, demo.folder, "--host", host)
    assert said.startswith(f"--host: {host} is not a loopback address")
    assert "accounts and TLS" in said
    assert "use 127.0.0.1" in said


def test_a_taken_port_is_said_with_the_mend(demo: ReadyDemo, coilwright_program: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        said = refused(coilwright_program, demo.folder, "--port", str(port))
    assert said.startswith(f"--port: port {port} cannot be used (address already in use)")
    assert "0 for a free one" in said


@pytest.mark.parametrize(
    ("missing", "mend"),
    [
        ("case.toml", "name the folder that holds the case file"),
        ("plan.json", "run coilwright plan first"),
        ("vein-map.json", "run coilwright plan first"),
        ("report.pdf", "run coilwright report first"),
        ("run.dcm", "check that"),
        ("kit.toml", "check that"),
    ],
)
def test_a_missing_file_is_named_with_its_mend(
    missing: str, mend: str, demo: ReadyDemo, coilwright_program: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "case"
    shutil.copytree(demo.folder, folder)
    (folder / missing).unlink()
    said = refused(coilwright_program, folder, "--port", "0")
    assert missing in said
    assert mend in said


def test_a_folder_that_is_not_there_is_one_clear_sentence(
    coilwright_program: Path, tmp_path: Path
) -> None:
    said = refused(coilwright_program, tmp_path / "nowhere")
    assert said == (
        "case.toml: file: not there; name the folder that holds the case file and its plan.\n"
    )
