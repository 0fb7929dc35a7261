"""The JSON Schema of the case file, against the examples and a general-purpose validator."""

import datetime as dt
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from coilwright.record import case_schema, load_case

ROOT = Path(__file__).parents[2]
CASES = [
    *(file for file in sorted((ROOT / "examples").glob("*.toml")) if "limits" not in file.name),
    ROOT / "src" / "coilwright" / "demo" / "case.toml",
]
SCHEMA: dict[str, Any] = json.loads(json.dumps(case_schema()))


def as_json(text: str) -> dict[str, Any]:
    """TOML as JSON holds it: days and times become texts."""
    table: dict[str, Any] = json.loads(json.dumps(tomllib.loads(text), default=str))
    return table


def faults(text: str) -> list[str]:
    return [error.json_path for error in Draft202012Validator(SCHEMA).iter_errors(as_json(text))]


def keys_known(schema: dict[str, Any], path: str = "") -> Iterator[str]:
    for key, inner in schema.get("properties", {}).items():
        yield f"{path}{key}"
        for form in (inner, *inner.get("anyOf", [])):
            yield from keys_known(form, f"{path}{key}.")


def keys_used(table: dict[str, Any], path: str = "") -> Iterator[str]:
    for key, value in table.items():
        yield f"{path}{key}"
        for item in value if isinstance(value, list) else [value]:
            if isinstance(item, dict):
                yield from keys_used(item, f"{path}{key}.")


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("file", CASES, ids=lambda file: file.name)
def test_every_example_and_the_demo_fit_the_schema(file: Path) -> None:
    assert faults(file.read_text(encoding="utf-8")) == []


def test_one_example_shows_every_key() -> None:
    text = (ROOT / "examples" / "every-key.toml").read_text(encoding="utf-8")
    # The two forms of a testis stand on one side each; the unit of a ratio is tolerated, not meant.
    known = {key.replace("testes.right.", "testes.left.") for key in keys_known(SCHEMA)}
    used = {key.replace("testes.right.", "testes.left.") for key in keys_used(as_json(text))}
    assert known - used == {"bloods.inr.unit"}


@pytest.mark.parametrize(
    ("text", "where"),
    [
        ('[bloods]\ncreatinine = "90"\n', "$.bloods.creatinine"),
        ("[bloods]\ncreatinine = 90\n", "$.bloods.creatinine"),
        ("[bloods]\ncreatinine = { value = 90 }\n", "$.bloods.creatinine"),
        ("[referral]\nside = 'midline'\n", "$.referral.side"),
        ("[referral]\nsides = 'left'\n", "$.referral"),
        ("[bloods]\ninr = 900\n", "$.bloods.inr"),
        ('[given]\nlidocaine = { strength = "1 %", volume = "8 mL" }\n', "$.given.lidocaine"),
    ],
)
def test_what_the_reader_refuses_does_not_fit_the_schema(text: str, where: str) -> None:
    assert faults(f'[patient]\nid = "1"\nname = "N"\n{text}') == [where]


def test_a_case_needs_its_patient() -> None:
    assert faults("") == ["$"]
    assert faults('[patient]\nid = "1"\n') == ["$.patient"]


@pytest.mark.parametrize(
    "text",
    [
        "[referral]\nside = 'LEFT'\n",
        "[referral]\nside = ' Both '\n",
        "[conditions]\nonset = 'Longstanding'\n",
        "[given.sclerosant]\ndrug = 'Polidocanol'\nstrength = '3 %'\nvolume = '1 mL'\n",
        "[bloods]\ninr = { value = '1.2', unit = '1' }\n",
        "[given.observations]\nat = '10:42'\n",
        "[bloods]\ncreatinine = ' 1e2 umol/L'\n",
    ],
)
def test_what_the_reader_takes_fits_the_schema(tmp_path: Path, text: str) -> None:
    case = f'[patient]\nid = "1"\nname = "N"\n{text}'
    (tmp_path / "case.toml").write_text(case, encoding="utf-8")
    load_case(tmp_path / "case.toml", dt.date(2026, 11, 25))  # raises where it takes it not
    assert faults(case) == []
