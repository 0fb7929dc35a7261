"""`coilwright pathways` as a person and a program meet it."""

import json
from pathlib import Path

import jsonschema
import pytest
from typer.testing import CliRunner, Result

from coilwright.cli.main import app
from coilwright.veins import vein_map_to_json
from veins.maps import hand_map

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "networks" / "duplicated-left-vein.json"
MARKS = ROOT / "examples" / "networks" / "network-marks.toml"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, ["pathways", *(str(word) for word in words)])


def test_json_is_all_that_stands_on_standard_output() -> None:
    done = run(EXAMPLE, "--json")
    assert done.exit_code == 0, done.output
    assert done.stderr == ""
    answer = json.loads(done.stdout)
    schema = json.loads((ROOT / "docs/schemas/coilwright.least-closure.1.json").read_text("utf-8"))
    jsonschema.validate(answer, schema)
    # By hand: both veins below the lower mouth; above it one lies beyond a 0.7 mm channel.
    assert answer["complete"] is True
    assert answer["occlude"] == ["lower-trunk", "parallel-below"]
    assert answer["cost"] == 2.0
    assert answer["unreachable"] == ["capsular-channel"]
    assert answer["open_pathways"] == []
    assert answer["residual_conductance_share"] == 0.0


def changed(tmp_path: Path, before: str, after: str) -> Path:
    text = EXAMPLE.read_text(encoding="utf-8")
    assert before in text
    file = tmp_path / "changed.json"
    file.write_text(text.replace(before, after), encoding="utf-8")
    return file


def test_what_is_left_is_said_as_a_band_and_never_as_a_number(tmp_path: Path) -> None:
    file = changed(tmp_path, '"diameter_mm": 1.4', '"diameter_mm": 0.8')
    share = json.loads(run(file, "--json").stdout)["residual_conductance_share"]
    assert 0.0 < share < 0.1
    done = run(file)
    assert done.exit_code == 0, done.output
    assert done.output.startswith("changed.json: not every pathway can be shut")
    assert "of the flow before there stays: little of it" in done.output
    assert "validated by nobody" in done.output
    assert f"{share:.3f}" not in done.output
    assert "%" not in done.output
    assert "not approved for clinical use" in done.output


def test_the_least_is_never_called_the_plan() -> None:
    assert (
        "the least that must be shut of the veins that were seen, not the plan"
        in run(EXAMPLE).output
    )


@pytest.mark.parametrize("flag", [(), ("--json",)])
def test_a_malformed_network_ends_with_2_and_nothing_on_standard_output(
    tmp_path: Path, flag: tuple[str, ...]
) -> None:
    done = run(changed(tmp_path, '"cost": 2.5', '"cost": -2.5'), *flag)
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.startswith("changed.json: veins[3].cost: not above 0; write a number from")


@pytest.mark.parametrize("content", [None, b"\xff\xfe{", b"{", b"[1]"])
def test_what_cannot_be_read_ends_with_2(tmp_path: Path, content: bytes | None) -> None:
    file = tmp_path / "network.json"
    if content is not None:
        file.write_bytes(content)
    done = run(file, "--json")
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.startswith("network.json: ")
    assert len(done.stderr.splitlines()) == 1


def test_a_vein_map_with_marks_is_answered_as_a_network(tmp_path: Path) -> None:
    file = tmp_path / "map.json"
    file.write_text(vein_map_to_json(hand_map()), encoding="utf-8")
    done = run(file, "--marks", MARKS, "--json")
    assert done.exit_code == 0, done.output
    answer = json.loads(done.stdout)
    # By hand: all blood comes down to the bypass at 60 mm, and side-vein-1 at 40 mm leads nowhere:
    # one place does, and the one below 40 mm leaves less on the outflows' side.
    assert (answer["complete"], answer["occlude"]) == (True, ["trunk:2"])
    assert any("superior pubic ramus is not marked" in text for text in answer["assumptions"])


def test_a_vein_map_without_marks_is_refused_with_the_mend(tmp_path: Path) -> None:
    file = tmp_path / "map.json"
    file.write_text(vein_map_to_json(hand_map()), encoding="utf-8")
    done = run(file)
    assert (done.exit_code, done.stdout) == (2, "")
    assert "say with --marks MARKS.toml where the catheter enters" in done.stderr


def test_marks_beside_a_network_are_refused() -> None:
    done = run(EXAMPLE, "--marks", MARKS)
    assert done.exit_code == 2
    assert "--marks: only for a vein map" in done.stderr
