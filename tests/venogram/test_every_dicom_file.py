"""Every DICOM file at hand is measured, or refused in one clear sentence.

Here pydicom's own test files, and open data where it is named: none of them drawn by the project.
"""

import subprocess
from pathlib import Path

import pydicom
import pydicom.data
import pytest
from pydicom.encaps import encapsulate, generate_frames
from typer.testing import CliRunner

from check_data import check_data
from coilwright.cli.main import app

FOLDER = Path(pydicom.data.__file__).parent
# DICOMDIR files, character sets, palettes, overlays and the notes beside them too.
FILES = sorted(
    file for file in FOLDER.rglob("*") if file.is_file() and file.suffix not in {".py", ".pyc"}
)
# What the installed command is given a minute for.
TOO_LONG_S = 60
PHANTOM_RUNS = ["IM1", "IM2", "IM5", "IM6"]


def measured(file: Path, folder: Path, *options: str) -> tuple[int, str]:
    """Exit status, and what reached the terminal's error channel. Warnings are errors here."""
    out = folder / "map.json"
    done = CliRunner().invoke(app, ["measure", str(file), "--json", str(out), *options])
    assert done.exception is None or isinstance(done.exception, SystemExit)
    assert out.exists() == (done.exit_code == 0)
    return done.exit_code, done.stderr


def is_one_sentence(words: str, file: Path) -> bool:
    """File, field, what was found; what to do."""
    line = words.strip()
    parts = line.removeprefix(f"{file.name}: ")
    return "\n" not in line and parts != line and ": " in parts and "; " in parts


def test_there_are_files_enough_to_mean_something() -> None:
    # pydicom 3 carries about 190, 90 of them images of several kinds.
    assert len(FILES) > 100


def test_each_file_of_pydicom_is_measured_or_refused(tmp_path: Path) -> None:
    unclear = []
    for file in FILES:
        status, words = measured(file, tmp_path, "--mm-per-pixel", "0.2")
        if not (status == 2 and is_one_sentence(words, file)):
            unclear.append((file.name, status, words))
    # None of them is an X-ray run.
    assert unclear == []


@pytest.mark.parametrize("name", ["rdsr_from_enriched_MPPS", "rdsr_from_testMPPS"])
def test_a_dose_report_is_refused(name: str, tmp_path: Path) -> None:
    file = check_data("dose_sr", f"{name}.dcm")
    status, words = measured(file, tmp_path)
    assert (status, is_one_sentence(words, file)) == (2, True)


@pytest.mark.parametrize("name", ["IM1", "IM2"])
def test_a_run_without_any_scale_gives_no_millimetres(name: str, tmp_path: Path) -> None:
    # No Imager Pixel Spacing in either; the data's own page says so.
    file = check_data("xa_phantom", f"{name}.dcm")
    status, words = measured(file, tmp_path)
    assert (status, is_one_sentence(words, file)) == (2, True)
    assert "ImagerPixelSpacing: no scale" in words


@pytest.mark.parametrize("name", PHANTOM_RUNS)
def test_a_real_run_is_measured_with_a_given_scale(name: str, tmp_path: Path) -> None:
    file = check_data("xa_phantom", f"{name}.dcm")
    assert measured(file, tmp_path, "--mm-per-pixel", "0.2") == (0, "")


def said_by_program(program: Path, file: Path, folder: Path) -> tuple[int, str]:
    """As a person starts it, so that native decoders' own words would show."""
    command: list[str | Path] = [
        program,
        "measure",
        file,
        "--json",
        folder / "m.json",
        "--mm-per-pixel",
        "0.2",
    ]
    done = subprocess.run(command, capture_output=True, text=True, timeout=TOO_LONG_S, check=False)
    return done.returncode, done.stderr


@pytest.mark.parametrize("kept", [400, 2000])
def test_a_damaged_frame_is_refused_and_its_decoder_kept_quiet(
    kept: int, coilwright_program: Path, tmp_path: Path
) -> None:
    dataset = pydicom.dcmread(check_data("xa_phantom", "IM1.dcm"))
    frames = list(generate_frames(dataset.PixelData, number_of_frames=14))
    frames[5] = frames[5][:kept] + b"\xff\x00" * 500
    dataset.PixelData = encapsulate(frames)
    file = tmp_path / "damaged.dcm"
    dataset.save_as(file)
    status, words = said_by_program(coilwright_program, file, tmp_path)
    assert (status, is_one_sentence(words, file)) == (2, True)
    assert "JPEG Lossless" in words


def test_a_file_that_ends_within_its_pixels_is_refused(
    coilwright_program: Path, tmp_path: Path
) -> None:
    whole = check_data("xa_phantom", "IM1.dcm").read_bytes()
    file = tmp_path / "cut.dcm"
    file.write_bytes(whole[: len(whole) // 2])
    status, words = said_by_program(coilwright_program, file, tmp_path)
    assert (status, is_one_sentence(words, file)) == (2, True)
    assert "cut short" in words
