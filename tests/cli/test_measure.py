"""`coilwright measure` from the outside, on rendered runs and on open data."""

import json
import subprocess
from pathlib import Path

import pydicom
import pytest

from check_data import check_data
from coilwright.phantom import Truth, demo_scene, render, write_run

pytestmark = pytest.mark.xdist_group("measure-command")


@pytest.fixture(scope="module")
def rendered(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Truth]:
    """The demo's run, whose catheter is 5 F, with its truth."""
    done = render(demo_scene())
    file = tmp_path_factory.mktemp("run") / "run.dcm"
    write_run(done, file)
    return file, done.truth


def measure(
    program: Path, run: Path, folder: Path, *options: str
) -> subprocess.CompletedProcess[str]:
    command: list[str | Path] = [program, "measure", run, "--json", folder / "map.json", *options]
    return subprocess.run(command, check=False, capture_output=True, text=True, timeout=300)


def test_map_and_picture_of_a_run(
    coilwright_program: Path, rendered: tuple[Path, Truth], tmp_path: Path
) -> None:
    run, truth = rendered
    picture = tmp_path / "map.png"
    done = measure(
        coilwright_program, run, tmp_path, "--catheter-fr", "5", "--side", "left",
        "--picture", str(picture), "--tip-site", "left renal vein", "--valsalva",
        "--tilt-deg", "20", "--volume-ml", "8", "--rate-ml-per-s", "4", "--breath", "held",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert picture.read_bytes().startswith(b"\x89PNG")
    found = json.loads((tmp_path / "map.json").read_text())
    assert (found["format"], found["version"], found["side"]) == ("coilwright.vein-map", 1, "left")
    # Truth: the renderer's own scene.
    assert found["runs"][0]["conditions"] == {
        "tip_site": "left renal vein", "volume_ml": 8.0, "rate_ml_per_s": 4.0,
        "valsalva": True, "tilt_deg": 20.0, "breath_phase": "held",
    }  # fmt: skip
    assert "run 1: tip left renal vein, 8 mL at 4 mL/s, with Valsalva" in done.stdout
    assert "can show reflux (injected at the renal vein or ostium with Valsalva)" in done.stdout
    assert found["calibration"]["method"] == "catheter"
    assert found["calibration"]["mm_per_pixel"] == pytest.approx(truth.scale.at_catheter, rel=0.02)
    assert found["calibration"]["warnings"] == []
    assert found["catheter"]["in_vessel"] == "trunk"
    kinds = [vessel["kind"] for vessel in found["vessels"]]
    assert kinds.count("trunk") == 1
    assert kinds.count("duplicate") == 1
    assert kinds.count("side-vein") == 3
    trunk = found["vessels"][0]
    lengths = {len(trunk[key]) for key in ("points_px", "arc_mm", "diameter_mm", "arrival_s")}
    assert len(lengths) == 1
    steps = [b - a for a, b in zip(trunk["arc_mm"], trunk["arc_mm"][1:], strict=False)]
    assert max(steps) <= 0.6
    assert len(trunk["narrowings"]) == 1


def test_a_wrong_french_size_is_followed_and_warned(
    coilwright_program: Path, rendered: tuple[Path, Truth], tmp_path: Path
) -> None:
    run, truth = rendered
    done = measure(coilwright_program, run, tmp_path, "--catheter-fr", "7")
    assert done.returncode == 0
    found = json.loads((tmp_path / "map.json").read_text())["calibration"]
    # The tube is 5 F wide: called 7 F, everything grows by 7/5.
    assert found["mm_per_pixel"] == pytest.approx(truth.scale.at_catheter * 7 / 5, rel=0.03)
    assert [warning["code"] for warning in found["warnings"]] == ["catheter-header-disagree"]
    assert "check the French size" in done.stdout


def test_without_a_french_size_the_header_gives_the_scale(
    coilwright_program: Path, rendered: tuple[Path, Truth], tmp_path: Path
) -> None:
    run, truth = rendered
    done = measure(coilwright_program, run, tmp_path)
    assert done.returncode == 0
    document = json.loads((tmp_path / "map.json").read_text())
    # What nobody stated is unknown, and said to be.
    assert set(document["runs"][0]["conditions"].values()) == {None}
    assert "Valsalva not recorded, tilt not recorded" in done.stdout
    assert "reflux not judged" in done.stdout
    found = document["calibration"]
    assert found["method"] == "header-geometry"
    assert found["mm_per_pixel"] == pytest.approx(truth.scale.at_isocentre, rel=1e-6)
    assert found["relative_sd"] >= 0.04


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (("--catheter-fr", "5", "--mm-per-pixel", "0.3"), "two scales were given"),
        (("--ruler-px", "0,0,90,0"), "half of a ruler"),
        (("--ruler-px", "0,0,90", "--ruler-mm", "20"), "3 numbers"),
        (("--catheter-fr", "50"), "50 F is impossible"),
        (("--catheter-lumen-mm", "0.97"), "the catheter's size is missing"),
        (("--catheter-fr", "4", "--catheter-lumen-mm", "1.3"), "1.3 mm is impossible"),
        (("--mask-frames", "0,99"), "frame 99 does not exist"),
        (("--mask-frames", "first"), "not a list of frame numbers"),
        (("--tilt-deg", "120"), "--tilt-deg: 120 degrees is impossible; give -45 to 90 degrees."),
        (("--volume-ml", "0"), "--volume-ml: 0 mL is impossible"),
        (("--conditions", "gone.toml"), "gone.toml: "),
        (("--valsalva", "--conditions", "c.toml"), "state it in one of the two places"),
    ],
)
def test_options_that_cannot_be_used_get_one_sentence(
    coilwright_program: Path,
    rendered: tuple[Path, Truth],
    tmp_path: Path,
    options: tuple[str, ...],
    sentence: str,
) -> None:
    done = measure(coilwright_program, rendered[0], tmp_path, *options)
    assert done.returncode == 2
    assert sentence in done.stderr
    assert "Traceback" not in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []


def test_one_injection_is_not_stated_for_several_runs(
    coilwright_program: Path, rendered: tuple[Path, Truth], tmp_path: Path
) -> None:
    run, _ = rendered
    done = measure(coilwright_program, run, tmp_path, str(run), "--valsalva")
    assert done.returncode == 2
    assert "one injection for several runs; state each run in a file" in done.stderr


def test_a_run_without_scale_or_contrast_leaves_nothing_behind(
    coilwright_program: Path, rendered: tuple[Path, Truth], tmp_path: Path
) -> None:
    dataset = pydicom.dcmread(rendered[0])
    del dataset.ImagerPixelSpacing
    bare = tmp_path / "bare.dcm"
    dataset.save_as(bare)
    done = measure(coilwright_program, bare, tmp_path)
    assert done.returncode == 2
    assert "bare.dcm: ImagerPixelSpacing: no scale" in done.stderr

    frames = dataset.pixel_array
    dataset.PixelData = frames[:1].repeat(len(frames), axis=0).tobytes()
    dataset.save_as(bare)
    done = measure(coilwright_program, bare, tmp_path, "--mm-per-pixel", "0.28")
    assert done.returncode == 2
    assert "no opacified vessel" in done.stderr
    assert [file.name for file in tmp_path.iterdir()] == ["bare.dcm"]


def test_an_output_folder_that_is_not_there_is_named(
    coilwright_program: Path, rendered: tuple[Path, Truth], tmp_path: Path
) -> None:
    done = measure(coilwright_program, rendered[0], tmp_path / "nowhere", "--catheter-fr", "5")
    assert done.returncode == 2
    assert "output" in done.stderr


@pytest.mark.parametrize("name", ["IM1.dcm", "IM2.dcm"])
def test_real_phantom_runs_without_spacing_give_no_millimetres(
    coilwright_program: Path, tmp_path: Path, name: str
) -> None:
    # Open data (Vukicevic et al., Sci Rep 2018;8:1711): no Imager Pixel Spacing, DISP.
    run = check_data("xa_phantom", name)
    refused = measure(coilwright_program, run, tmp_path)
    assert refused.returncode == 2
    assert f"{name}: ImagerPixelSpacing: no scale" in refused.stderr
    ruled = measure(
        coilwright_program, run, tmp_path, "--ruler-px", "10,10,500,10", "--ruler-mm", "150"
    )
    assert ruled.returncode == 0
    found = json.loads((tmp_path / "map.json").read_text())
    assert found["calibration"]["mm_per_pixel"] == pytest.approx(150 / 490, rel=1e-6)
    assert {v["diameter_method"] for v in found["vessels"]} == {"edge-width"}
    codes = {warning["code"] for warning in found["quality"]["warnings"]}
    # Radiation Setting SC, contrast from the first frame, DISP: as the headers and frames show.
    assert {"stored-fluoroscopy", "no-mask", "display-processed"} <= codes


@pytest.mark.parametrize("name", ["IM5.dcm", "IM6.dcm"])
def test_real_phantom_runs_with_geometry_take_the_headers_scale(
    coilwright_program: Path, tmp_path: Path, name: str
) -> None:
    # Data note: 0.390625 mm x 720 / SID per pixel at the isocentre.
    run = check_data("xa_phantom", name)
    assert measure(coilwright_program, run, tmp_path).returncode == 0
    found = json.loads((tmp_path / "map.json").read_text())
    distance_mm = float(pydicom.dcmread(run, stop_before_pixels=True).DistanceSourceToDetector)
    expected = 0.390625 * 720 / distance_mm
    assert found["calibration"]["mm_per_pixel"] == pytest.approx(expected, rel=1e-6)
    assert found["calibration"]["method"] == "header-geometry"
    trunk = found["vessels"][0]
    known = [d for d in trunk["diameter_mm"] if d is not None]
    # The tubes of that phantom are a few millimetres wide: wide uncertainty, stated.
    sds = [s for s in trunk["diameter_sd_mm"] if s is not None]
    assert min(s / d for s, d in zip(sds, known, strict=True)) > 0.08
