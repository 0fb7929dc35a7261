"""`coilwright fits` as a person meets it."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from coilwright.cli.main import app
from kit.devices import DEMO_KIT


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(app, ["fits", *(str(word) for word in words)])


def test_the_failing_pair_the_millimetres_and_what_would_do_are_said_first() -> None:
    # 18 G regular wall 0.838 mm (needle gauge comparison chart) against 0.035 in, 0.889 mm.
    done = run(DEMO_KIT, "needle-18-regular", "wire-35-180")
    assert done.exit_code == 0, done.output
    lines = done.output.splitlines()
    assert lines[0].startswith("needle-18-regular > wire-35-180: does not fit")
    assert "0.051 mm too wide" in lines[1]
    assert "would do in place of needle-18-regular: needle-18-thin" in done.output
    assert "not approved for clinical use" in done.output


def test_a_limit_from_memory_is_never_shown_as_passed() -> None:
    done = run(DEMO_KIT, "wire-35-180", "cath-5-65")
    assert "limits from memory that nobody here has signed off" in done.output.splitlines()[0]
    (past_hub,) = [line for line in done.output.splitlines() if "long enough for" in line]
    assert past_hub.strip().startswith("not signed off")


def test_a_device_is_named_by_its_name_too_in_either_case() -> None:
    done = run(DEMO_KIT, "2.7 f MICROCATHETER, 130 cm", "cath-5-65")
    assert done.output.startswith("cath-5-65 > micro-27-130: fits")


def test_the_json_holds_what_was_said(tmp_path: Path) -> None:
    out = tmp_path / "fits.json"
    done = run(DEMO_KIT, "cath-5-65", "micro-30-130", "--json", out)
    assert done.exit_code == 0, done.output
    document = json.loads(out.read_text(encoding="utf-8"))
    assert (document["format"], document["version"]) == ("coilwright.fits", 1)
    assert document["verdict"] == "does-not-fit"
    assert document["failing"][0]["mends"][1] == {
        "in_place_of": "micro-30-130",
        "devices": ["micro-27-130"],
    }


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("cath-5-66", "micro-27-130"), "DEVICE cath-5-66: not in the kit; perhaps cath-5-65"),
        (("zz", "micro-27-130"), "DEVICE zz: not in the kit; name a device by its id"),
        (("cath-5-65", "glue-05"), "DEVICE glue-05: a liquid, which has no width"),
        (("cath-5-65", "cath-5-65"), "DEVICE cath-5-65: named twice"),
        (("cath-5-65",), "DEVICE cath-5-65: nothing to compare it with; name two"),
    ],
)
def test_what_names_no_device_is_one_sentence_and_exit_status_2(
    tmp_path: Path, words: tuple[str, ...], sentence: str
) -> None:
    out = tmp_path / "fits.json"
    done = run(DEMO_KIT, *words, "--json", out)
    assert done.exit_code == 2
    assert done.stderr.startswith(sentence)
    assert len(done.stderr.splitlines()) == 1
    assert not out.exists()


def test_the_answer_never_takes_the_place_of_the_kit(tmp_path: Path) -> None:
    kit = tmp_path / "kit.toml"
    kit.write_bytes(DEMO_KIT.read_bytes())
    done = run(kit, "cath-5-65", "micro-27-130", "--json", kit)
    assert done.exit_code == 2
    assert "a file that is read here" in done.stderr
    assert kit.read_bytes() == DEMO_KIT.read_bytes()


def test_a_name_that_two_devices_carry_is_asked_for_by_id(tmp_path: Path) -> None:
    text = DEMO_KIT.read_text(encoding="utf-8")
    kit = tmp_path / "kit.toml"
    kit.write_text(text.replace("3 F microcatheter, 130", "2.7 F microcatheter, 130"), "utf-8")
    done = run(kit, "2.7 F microcatheter, 130 cm", "cath-5-65")
    assert done.exit_code == 2
    assert "2 devices are called so; name it by id: micro-27-130, micro-30-130" in done.stderr
