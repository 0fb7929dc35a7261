from pathlib import Path

import pytest

from coilwright.errors import FileProblem, InputError
from coilwright.veins import Conditions, read_conditions, require_possible

HEAD = 'format = "coilwright.run-conditions"\nversion = 1\n'
RUNS = [Path("a/first.dcm"), Path("a/second.dcm")]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "conditions.toml"


def test_each_run_gets_what_is_said_of_it_and_no_more(file: Path) -> None:
    file.write_text(
        HEAD + '[[runs]]\nfile = "second.dcm"\ntip_site = "left renal vein"\nvalsalva = true\n'
        "tilt_deg = 20\nvolume_ml = 8\nrate_ml_per_s = 4\nbreath_phase = 'held'\n"
    )
    assert read_conditions(file, RUNS) == {
        1: Conditions(
            tip_site="left renal vein",
            volume_ml=8.0,
            rate_ml_per_s=4.0,
            valsalva=True,
            tilt_deg=20.0,
            breath_phase="held",
        )
    }


def test_what_is_left_out_stays_unknown(file: Path) -> None:
    file.write_text(HEAD + '[[runs]]\nfile = "first.dcm"\nvalsalva = false\n')
    assert read_conditions(file, RUNS) == {0: Conditions(valsalva=False)}


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("version = 1\n", "format: not a coilwright.run-conditions file; write format"),
        ('format = "coilwright.run-conditions"\nversion = 2\n', "version: not known here"),
        (HEAD, "runs: no runs; write each as a table"),
        (HEAD + "tilt = 3\n", "tilt: unknown key"),
        (HEAD + "[[runs]]\nvalsalva = true\n", "run 1, file: missing; add the run's file name"),
        (HEAD + '[[runs]]\nfile = "third.dcm"\n', "run 1, file: none of the runs given"),
        (
            HEAD + '[[runs]]\nfile = "first.dcm"\n[[runs]]\nfile = "first.dcm"\n',
            "run 2, file: the run is named twice",
        ),
        (HEAD + '[[runs]]\nfile = "first.dcm"\ntilt_deg = 400\n', "tilt_deg: 400 degrees is imp"),
        (HEAD + '[[runs]]\nfile = "first.dcm"\nvalsalva = "yes"\n', "neither true nor false"),
        (HEAD + '[[runs]]\nfile = "first.dcm"\nvalsalver = true\n', "valsalver: unknown key"),
    ],
)
def test_what_cannot_be_meant_gets_one_sentence(file: Path, text: str, sentence: str) -> None:
    file.write_text(text)
    with pytest.raises(FileProblem, match=r"^conditions\.toml: ") as caught:
        read_conditions(file, RUNS)
    assert sentence in str(caught.value)


def test_a_name_that_two_runs_share_must_say_its_folder(file: Path) -> None:
    runs = [Path("a/run.dcm"), Path("b/run.dcm")]
    file.write_text(HEAD + '[[runs]]\nfile = "run.dcm"\n')
    with pytest.raises(FileProblem, match="several of the runs have that name"):
        read_conditions(file, runs)
    file.write_text(HEAD + '[[runs]]\nfile = "b/run.dcm"\n')
    assert list(read_conditions(file, runs)) == [1]


@pytest.mark.parametrize(
    ("stated", "sentence"),
    [
        (Conditions(tilt_deg=120.0), "--tilt-deg: 120 degrees is impossible; give -45 to 90"),
        (Conditions(volume_ml=float("nan")), "--volume-ml: nan mL is impossible"),
        (Conditions(rate_ml_per_s=0.0), "--rate-ml-per-s: 0 mL/s is impossible"),
    ],
)
def test_a_slip_of_the_pen_beside_a_run_is_refused(stated: Conditions, sentence: str) -> None:
    with pytest.raises(InputError) as caught:
        require_possible(stated)
    assert str(caught.value).startswith(sentence)


def test_the_example_reads_as_it_says() -> None:
    example = Path(__file__).parents[2] / "examples" / "runs" / "run-conditions.toml"
    found = read_conditions(example, [Path("RUN1.dcm"), Path("RUN2.dcm")])
    assert (found[0].valsalva, found[0].tilt_deg) == (True, 20.0)
    assert found[1] == Conditions(tip_site="left gonadal vein", valsalva=False)
