"""`coilwright assess` as a person meets it, and the published vectors through the whole command."""

import json
from pathlib import Path
from typing import Any

import pytest
import typer
from typer.testing import CliRunner, Result

from coilwright.advice import DISCLAIMER, Status, Urgency
from coilwright.cli.assess import assess

APP = typer.Typer(pretty_exceptions_enable=False)
APP.command()(assess)
EXAMPLES = Path(__file__).parents[2] / "examples"
# Aged 30, 50, ... on the day of the procedure, 2026-06-15.
PATIENT = '[patient]\nid = "T-1"\nname = "Test, Case"\n'
DAY = "[procedure]\ndate = 2026-06-15\n"


def run(*words: str | Path) -> Result:
    return CliRunner().invoke(APP, [str(word) for word in words])


def case_file(folder: Path, text: str) -> Path:
    file = folder / "case.toml"
    file.write_text(text, encoding="utf-8")
    return file


def advisories_of(folder: Path, text: str, *options: str | Path) -> list[dict[str, Any]]:
    out = folder / "out.json"
    done = run(case_file(folder, text), "--json", out, *options)
    assert done.exit_code == 0, done.output
    document = json.loads(out.read_text(encoding="utf-8"))
    assert (document["format"], document["version"]) == ("coilwright.assessment", 1)
    advisories: list[dict[str, Any]] = document["advisories"]
    return advisories


def of_rule(advisories: list[dict[str, Any]], rule: str) -> list[dict[str, Any]]:
    found = [advisory for advisory in advisories if advisory["rule"] == rule]
    assert found, f"no advisory of the rule {rule}"
    return found


# CLINICAL.md 5.2, table of vectors: creatinine, age, sex, CKD-EPI 2021 and 2009.
KIDNEY = [
    ("0.8 mg/dL", 25, "male", "125.95", "124.16"),
    ("0.9 mg/dL", 30, "male", "117.83", "114.21"),
    ("1.0 mg/dL", 30, "male", "103.84", "100.55"),
    ("80 umol/L", 30, "male", "117.05", "113.45"),
    ("1.2 mg/dL", 60, "male", "69.23", "65.33"),
    ("1.5 mg/dL", 50, "male", "56.37", "53.51"),
    ("1.8 mg/dL", 70, "male", "39.99", "37.30"),
    ("0.7 mg/dL", 40, "female", "112.05", "108.38"),
    ("0.9 mg/dL", 55, "female", "75.50", "71.98"),
    ("2.0 mg/dL", 50, "female", "29.87", "28.39"),
]


@pytest.mark.parametrize(("creatinine", "age", "sex", "of_2021", "of_2009"), KIDNEY)
def test_kidney_function_is_the_published_to_the_printed_digit(
    tmp_path: Path, creatinine: str, age: int, sex: str, of_2021: str, of_2009: str
) -> None:
    born = f'birth_date = {2026 - age}-06-15\nsex = "{sex}"\n'
    text = f'{PATIENT}{born}{DAY}[bloods]\ncreatinine = "{creatinine}"\n'
    advisories = advisories_of(tmp_path, text)
    assert f"{of_rule(advisories, 'ckd-epi-2021')[0]['value']:.2f}" == of_2021
    assert f"{of_rule(advisories, 'ckd-epi-2009')[0]['value']:.2f}" == of_2009


# CLINICAL.md 1.3: 4.5 x 3.0 x 2.5, 4.0 x 2.5 x 2.0 and 4.1 x 2.5 x 2.1 cm.
@pytest.mark.parametrize(
    ("axes_cm", "lambert", "ellipsoid"),
    [
        ((4.5, 3.0, 2.5), "23.96", "17.67"),
        ((4.0, 2.5, 2.0), "14.20", "10.47"),
        ((4.1, 2.5, 2.1), "15.28", None),
    ],
)
def test_testis_volumes_are_the_published(
    tmp_path: Path, axes_cm: tuple[float, ...], lambert: str, ellipsoid: str | None
) -> None:
    length, width, height = axes_cm
    size = f'{{ length = "{length} cm", width = "{width} cm", height = "{height} cm" }}'
    advisories = advisories_of(tmp_path, f"{PATIENT}[testes]\nleft = {size}\n")
    assert f"{of_rule(advisories, 'testis-volume-lambert')[0]['value']:.2f}" == lambert
    if ellipsoid is not None:
        assert f"{of_rule(advisories, 'testis-volume-ellipsoid')[0]['value']:.2f}" == ellipsoid


def test_asymmetry_of_18_and_14_ml_is_the_published(tmp_path: Path) -> None:
    # CLINICAL.md 1.3: R 18, L 14 mL: 22.2 %, difference 4 mL.
    testes = '[testes]\nleft = { volume = "14 mL" }\nright = { volume = "18 mL" }\n'
    text = f'{PATIENT}[referral]\nside = "left"\n{testes}'
    (advisory,) = of_rule(advisories_of(tmp_path, text), "testis-asymmetry")
    assert f"{advisory['value']:.1f}" == "22.2"
    assert "4.0 mL" in advisory["text"]


# CLINICAL.md 2: 3 mL x 80 x 66 % = 158.4; 3 x 30 x 50 % = 45; 5 x 6 x 50 % = 15.
@pytest.mark.parametrize(
    ("ml", "million", "percent", "count"),
    [(3, 80, 66, "158.4"), (3, 30, 50, "45.0"), (5, 6, 50, "15.0")],
)
def test_motile_counts_are_the_published(
    tmp_path: Path, ml: int, million: int, percent: int, count: str
) -> None:
    semen = f'[[semen]]\nvolume = "{ml} mL"\nconcentration = "{million} 10^6/mL"\n'
    text = f'{PATIENT}{semen}total_motility = "{percent} %"\nprogressive_motility = "{percent} %"\n'
    advisories = advisories_of(tmp_path, text)
    for rule in ("total-motile-count", "progressive-motile-count"):
        assert f"{of_rule(advisories, rule)[0]['value']:.1f}" == count


# CLINICAL.md 5.1, vectors: US label plain and with adrenaline.
@pytest.mark.parametrize(
    ("kg", "plain_mg", "adrenaline_mg"),
    [(50, 225, 350), (66, 297, 462), (70, 300, 490), (71.5, 300, 500), (80, 300, 500)],
)
def test_lidocaine_ceilings_are_the_published(
    tmp_path: Path, kg: float, plain_mg: float, adrenaline_mg: float
) -> None:
    born = f'birth_date = 1990-01-01\nweight = "{kg} kg"\nheight = "180 cm"\n'
    ready = 'local_anaesthetic = { strength = "1 %", adrenaline = false }\n'
    advisories = advisories_of(tmp_path, f"{PATIENT}{born}{DAY}{ready}")
    (plain,) = of_rule(advisories, "lidocaine-plain-max")
    assert plain["limit"] == pytest.approx(plain_mg)
    assert f"{plain_mg / 10:.1f} mL of 1 %" in plain["text"]  # 1 % is 10 mg/mL
    (adrenaline,) = of_rule(advisories, "lidocaine-adrenaline-max")
    # 71.5 kg x 7 is 500.5: the maximum of 500 holds.
    assert adrenaline["limit"] == pytest.approx(adrenaline_mg)


def test_the_formulary_of_the_site_takes_the_labels_place(tmp_path: Path) -> None:
    # CLINICAL.md 5.1: BNF 200 mg for any adult, 20 mL of 1 %.
    born = 'birth_date = 1990-01-01\nweight = "90 kg"\nheight = "190 cm"\n'
    overlay = EXAMPLES / "site-limits.toml"
    advisories = advisories_of(tmp_path, f"{PATIENT}{born}{DAY}", "--overlay", overlay)
    assert of_rule(advisories, "lidocaine-plain-max")[0]["limit"] == 200


# CLINICAL.md 5.3, vectors of Cigarroa's rule.
@pytest.mark.parametrize(
    ("kg", "creatinine", "ml"), [(70, 1.8, "194.4"), (80, 1.2, "300.0"), (60, 3.0, "100.0")]
)
def test_contrast_ceilings_are_the_published(
    tmp_path: Path, kg: int, creatinine: float, ml: str
) -> None:
    text = f'{PATIENT}weight = "{kg} kg"\n[bloods]\ncreatinine = "{creatinine} mg/dL"\n'
    (advisory,) = of_rule(advisories_of(tmp_path, text), "contrast-cigarroa")
    assert f"{advisory['limit']:.1f}" == ml


# CLINICAL.md 6.4, vectors: Ka,r mGy, distances cm, backscatter, table, tissue 1.06.
@pytest.mark.parametrize(
    ("kerma", "skin_cm", "table", "skin_mgy"),
    [(2000, 70, 0.80, "1619.9"), (1000, 60, 0.75, "1033.5"), (5000, 65, 0.75, "4403.1")],
)
def test_skin_doses_are_the_published(
    tmp_path: Path, kerma: int, skin_cm: int, table: float, skin_mgy: str
) -> None:
    skin = (
        f'source_to_reference_point = "60 cm"\nsource_to_skin = "{skin_cm} cm"\n'
        f"backscatter = 1.3\ntable_transmission = {table}\ntissue_factor = 1.06\n"
    )
    radiation = f'[given.radiation]\nreference_air_kerma = "{kerma} mGy"\n'
    text = f"{PATIENT}{radiation}[given.radiation.skin]\n{skin}"
    (advisory,) = of_rule(advisories_of(tmp_path, text), "peak-skin-dose-estimate")
    assert advisory["unit"] == "mGy"
    assert f"{advisory['value']:.1f}" == skin_mgy
    assert advisory["low"] < advisory["value"] < advisory["high"]


def test_foam_of_two_ml_and_eight_of_gas_is_the_published(tmp_path: Path) -> None:
    # CLINICAL.md 4.3: 2 mL of 3 % + 8 mL gas -> 10 mL foam, 60 mg.
    dose = 'drug = "sodium-tetradecyl-sulfate"\nstrength = "3 %"\nvolume = "2 mL"\ngas = "8 mL"\n'
    advisories = advisories_of(tmp_path, f"{PATIENT}[[given.sclerosant]]\n{dose}")
    (foam,) = of_rule(advisories, "sclerosant-foam-ratio")
    said = f"{foam['text']} {foam['inputs']}"
    assert "10 mL" in said
    assert "60 mg" in said
    assert of_rule(advisories, "sts-session-max")[0]["value"] == 10


@pytest.mark.parametrize("name", [file.name for file in sorted(EXAMPLES.glob("*.toml"))])
def test_every_example_is_assessed_with_sources_throughout(tmp_path: Path, name: str) -> None:
    case, options = EXAMPLES / name, list[str | Path]()
    if name == "site-limits.toml":
        case, options = EXAMPLES / "every-key.toml", ["--overlay", EXAMPLES / name]
    out = tmp_path / "out.json"
    done = run(case, "--json", out, *options)
    assert done.exit_code == 0, done.output
    assert DISCLAIMER.split(";", maxsplit=1)[0] in done.output
    document = json.loads(out.read_text(encoding="utf-8"))
    for advisory in document["advisories"]:
        assert advisory["source"].strip()
        assert advisory["status"] in list(Status)
        assert advisory["rule"] == advisory["rule"].lower().strip()
        assert "  " not in advisory["text"]


def test_the_loudest_stand_first_and_sources_are_numbered(tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    done = run(EXAMPLES / "kidney-and-anticoagulant.toml", "--json", out)
    urgencies = [a["urgency"] for a in json.loads(out.read_text(encoding="utf-8"))["advisories"]]
    order = [Urgency.STOP_AND_THINK, Urgency.CAUTION, Urgency.INFO]
    assert urgencies == sorted(urgencies, key=order.index)
    assert done.output.index("STOP AND THINK") < done.output.index("CAUTION")
    assert "\n  [1] " in done.output


def test_what_a_site_changed_stays_visible_with_who_and_why(tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    overlay = EXAMPLES / "site-limits.toml"
    done = run(EXAMPLES / "every-key.toml", "--json", out, "--overlay", overlay)
    (changed,) = (
        change
        for change in json.loads(out.read_text(encoding="utf-8"))["local_changes"]
        if change["id"] == "inr-low-risk-upper"
    )
    assert (changed["value"], changed["value_before"]) == ("2 1", "3 1")
    assert changed["changed_by"] == "Dr Ansa Quill"
    flat = " ".join(done.output.split())
    assert "before us-label; our formulary (Dr Ansa Quill, 2026-01-08)" in flat


def test_no_name_and_no_id_of_the_patient_leaves_with_an_assessment(tmp_path: Path) -> None:
    out = tmp_path / "out.json"
    done = run(EXAMPLES / "every-key.toml", "--json", out)
    for secret in ("Vale", "Edric", "WF-310042"):
        assert secret not in done.output
        assert secret not in out.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            f'{PATIENT}[bloods]\ncreatinine = "90"\n',
            'case.toml: bloods.creatinine: "90" has no unit; '
            "add its unit (umol/L, mg/dL, mg/L or mmol/L).",
        ),
        (
            f"{PATIENT}[bloods]\ncreatinine = 90\n",
            "case.toml: bloods.creatinine: 90 has no unit; "
            "add its unit (umol/L, mg/dL, mg/L or mmol/L).",
        ),
        (
            f'{PATIENT}weight = "7000 kg"\n',
            "case.toml: patient.weight: 7000 kg is not possible; give a value from 1 to 400 kg.",
        ),
        (
            f"{PATIENT}weight = 7000\n",
            "case.toml: patient.weight: 7000 has no unit; add its unit (kg, g or lb).",
        ),
        (
            f"{PATIENT}birth_date = 2999-01-01\n",
            "case.toml: patient.birth_date: the day lies in the future; "
            "check the year, month and day.",
        ),
        (
            f'{PATIENT}wieght = "70 kg"\n',
            "case.toml: patient.wieght: unknown key; perhaps weight is meant.",
        ),
        (
            f'{PATIENT}[examination]\nside = "midline"\n',
            'case.toml: examination[0].side: "midline" is not possible; write "left" or "right".',
        ),
        (
            f"{PATIENT}[ultrasound]\nreflux_on_valsalva = false\nreflux_duration = '3 s'\n",
            "case.toml: ultrasound[0].reflux_duration: above zero without reflux; "
            "check reflux_on_valsalva.",
        ),
    ],
)
def test_what_needs_mending_is_one_sentence_and_writes_nothing(
    tmp_path: Path, text: str, sentence: str
) -> None:
    out = tmp_path / "out.json"
    done = run(case_file(tmp_path, text), "--json", out)
    assert done.exit_code == 2
    assert done.stderr == f"{sentence}\n"
    assert not out.exists()


@pytest.mark.parametrize(
    ("overlay", "said"),
    [
        ("[limits.older-man-age]\nvalue = 45\nunit = 'year'\n", "a change needs why"),
        ("[limits.older-mans-age]\nsigned_off_by = 'x'\n", "signed_off_on"),
        (
            "[limits.older-man-age]\nvalue = 45\nunit = 'month'\nwhy = 'w'\nchanged_by = 'c'\n"
            "changed_on = 2026-01-01\n",
            'site.toml: limits.older-man-age.unit (line 3): unit "month"; give it in "year".',
        ),
        (
            "[limits.older-man-age]\nvalue = 450\nunit = 'year'\nwhy = 'w'\nchanged_by = 'c'\n"
            "changed_on = 2026-01-01\n",
            "site.toml: limits.older-man-age.value (line 2): 450 year is outside the sanity bounds",
        ),
        (
            f"[limits.older-man-age]\nvalue = 0x{'f' * 5000}\nunit = 'year'\n",
            "site.toml: limits.older-man-age.value (line 2): a number too long to show",
        ),
    ],
)
def test_an_overlay_that_cannot_be_used_names_its_line(
    tmp_path: Path, overlay: str, said: str
) -> None:
    site = tmp_path / "site.toml"
    site.write_text(overlay, encoding="utf-8")
    done = run(case_file(tmp_path, PATIENT), "--overlay", site)
    assert done.exit_code == 2
    assert said in done.stderr
    assert done.stderr.count("\n") == 1


def test_runs_and_kit_need_not_be_there_yet(tmp_path: Path) -> None:
    text = f'{PATIENT}[[runs]]\nfile = "later.dcm"\n[kit]\nfile = "later.toml"\n'
    assert run(case_file(tmp_path, text)).exit_code == 0


@pytest.mark.parametrize("through_a_link", [False, True])
def test_the_case_is_never_written_over(tmp_path: Path, through_a_link: bool) -> None:
    case = case_file(tmp_path, PATIENT)
    out = case
    if through_a_link:
        out = tmp_path / "out.json"
        out.symlink_to(case)
    done = run(case, "--json", out)
    assert done.exit_code == 2
    assert (
        done.stderr == f"{out.name}: --json: it is a file that is read here; name another file.\n"
    )
    assert case.read_text(encoding="utf-8") == PATIENT


def test_the_sites_limits_are_never_written_over(tmp_path: Path) -> None:
    site = tmp_path / "site.toml"
    site.write_text('name = "Invented"\n', encoding="utf-8")
    done = run(case_file(tmp_path, PATIENT), "--overlay", site, "--json", site)
    assert done.exit_code == 2
    assert site.read_text(encoding="utf-8") == 'name = "Invented"\n'


def test_a_folder_that_is_not_there_is_named_with_the_file_that_was_asked_for(
    tmp_path: Path,
) -> None:
    done = run(case_file(tmp_path, PATIENT), "--json", tmp_path / "none" / "out.json")
    assert done.exit_code == 2
    assert done.stderr.startswith("out.json: output: ")


def test_a_byte_order_mark_does_no_harm(tmp_path: Path) -> None:
    file = tmp_path / "case.toml"
    file.write_text(PATIENT, encoding="utf-8-sig")
    assert run(file).exit_code == 0
