"""Reading vein networks: what is right comes back as written, what is wrong is told in full."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from coilwright.errors import InputError
from coilwright.veins.vein_network import NetworkVein, PointKind
from coilwright.veins.vein_network_json import vein_network_from_json, vein_network_to_json

ROOT = Path(__file__).parents[2]
EXAMPLES = sorted((ROOT / "examples" / "networks").glob("*.json"))
FILE = Path("network.json")
Document = dict[str, Any]


def document() -> Document:
    return {
        "format": "coilwright.vein-network",
        "version": 1,
        "points": [
            {"id": "in", "kind": "inflow"},
            {"id": "mid", "kind": "junction"},
            {"id": "out", "kind": "outflow"},
        ],
        "veins": [
            {
                "id": "upper", "from": "in", "to": "mid", "length_mm": 50, "diameter_mm": 4.5,
                "diameter_sd_mm": 0.2, "may_occlude": True,
            },
            {
                "id": "lower", "from": "mid", "to": "out", "length_mm": 50, "diameter_mm": 4.5,
                "diameter_sd_mm": 0, "relaxed_diameter_mm": 5, "may_occlude": False, "cost": 2.5,
            },
        ],
        "catheter": {"enters_at": "in", "outer_diameter_mm": 0.9},
    }  # fmt: skip


def refusal(changed: Document | str) -> str:
    text = changed if isinstance(changed, str) else json.dumps(changed)
    with pytest.raises(InputError) as caught:
        vein_network_from_json(text, FILE)
    return str(caught.value)


def test_every_field_is_read_and_a_cost_left_out_is_one() -> None:
    network = vein_network_from_json(json.dumps(document()), FILE)
    assert [p.kind for p in network.points] == [
        PointKind.INFLOW,
        PointKind.JUNCTION,
        PointKind.OUTFLOW,
    ]
    upper, lower = network.veins
    assert (upper.cost, upper.relaxed_diameter_mm, upper.passable_mm) == (1.0, None, 4.5)
    assert (lower.cost, lower.passable_mm, lower.may_occlude) == (2.5, 5.0, False)
    assert (upper.from_point, upper.to_point) == ("in", "mid")
    assert network.catheter.outer_diameter_mm == 0.9


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_an_example_comes_back_as_it_was_written_and_fits_the_schema(file: Path) -> None:
    network = vein_network_from_json(file.read_text(encoding="utf-8"), file)
    text = vein_network_to_json(network)
    assert vein_network_from_json(text, file) == network
    schema = json.loads((ROOT / "docs/schemas/coilwright.vein-network.1.json").read_text("utf-8"))
    jsonschema.validate(json.loads(text), schema)
    jsonschema.validate(json.loads(file.read_text(encoding="utf-8")), schema)


def test_parallel_veins_and_a_vein_from_inflow_to_outflow_are_read() -> None:
    changed = document()
    changed["veins"] += [
        {**changed["veins"][0], "id": "duplicate", "from": "mid", "to": "in"},
        {**changed["veins"][0], "id": "direct", "to": "out"},
    ]
    assert len(vein_network_from_json(json.dumps(changed), FILE).veins) == 4


def put(*path: str | int, value: Any) -> Callable[[Document], None]:
    def change(changed: Any) -> None:
        for step in path[:-1]:
            changed = changed[step]
        changed[path[-1]] = value

    return change


def left_out(*path: str | int) -> Callable[[Document], None]:
    def change(changed: Any) -> None:
        for step in path[:-1]:
            changed = changed[step]
        del changed[path[-1]]

    return change


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (put("format", value="coilwright.vein-map"), "format: not a vein network; give"),
        (left_out("format"), "format: not a vein network"),
        (put("version", value=2), "version: not known here; this program reads version 1"),
        (put("version", value="1"), "version: not known here"),
        (put("version", value=True), "version: not known here"),
        (left_out("version"), "version: missing"),
        (left_out("points"), "points: missing; add it"),
        (left_out("veins"), "veins: missing; add it"),
        (left_out("catheter"), "catheter: missing; add it"),
        (put("points", value={}), "points: not a list"),
        (put("veins", value="none"), "veins: not a list"),
        (put("catheter", value=[]), "catheter: not an object"),
        (put("veins", 0, value=7), "veins[0]: not an object"),
        (put("points", 1, "id", value=5), "points[1].id: not a text"),
        (put("points", 1, "id", value=" "), "points[1].id: not a text"),
        (put("points", 1, "id", value="\ud83d"), "points[1].id: half a character"),
        (
            put("points", 1, "kind", value="valve"),
            'points[1].kind: not possible; write one of "inf',
        ),
        (put("points", 1, "kind", value=["end"]), "points[1].kind: not possible"),
        (put("points", 1, "id", value="out"), "points[2].id: the same as points[1].id"),
        (put("points", 0, "kind", value="end"), "points: no inflow among them"),
        (put("points", 2, "kind", value="end"), "points: no outflow among them"),
        (put("veins", 1, "id", value="upper"), "veins[1].id: the same as veins[0].id"),
        (put("veins", 1, "to", value="in it"), "veins[1].to: no point has this id"),
        (put("veins", 1, "to", value="mid"), "veins[1].to: the same point as from"),
        (left_out("veins", 0, "may_occlude"), "veins[0].may_occlude: missing"),
        (put("veins", 0, "may_occlude", value=1), "veins[0].may_occlude: neither true nor false"),
        (left_out("veins", 0, "diameter_sd_mm"), "veins[0].diameter_sd_mm: missing"),
        (put("veins", 0, "diameter_sd_mm", value=-0.1), "veins[0].diameter_sd_mm: not 0 or more"),
        (put("veins", 0, "length_mm", value=0), "veins[0].length_mm: not above 0"),
        (put("veins", 0, "length_mm", value="50"), "veins[0].length_mm: not a number"),
        (put("veins", 0, "length_mm", value=True), "veins[0].length_mm: not a number"),
        (put("veins", 0, "length_mm", value=None), "veins[0].length_mm: not a number"),
        (put("veins", 0, "diameter_mm", value=-4), "veins[0].diameter_mm: not above 0"),
        (put("veins", 0, "diameter_mm", value=float("nan")), "diameter_mm: not a finite number"),
        (put("veins", 0, "diameter_mm", value=float("inf")), "diameter_mm: not a finite number"),
        (put("veins", 0, "diameter_mm", value=10**400), "diameter_mm: out of range"),
        (put("veins", 1, "relaxed_diameter_mm", value=0), "relaxed_diameter_mm: not above 0"),
        (put("veins", 1, "cost", value=0), "veins[1].cost: not above 0"),
        (put("veins", 1, "cost", value=None), "veins[1].cost: not a number"),
        (put("veins", 1, "cost", value=float("-inf")), "veins[1].cost: not a finite number"),
        (put("veins", 1, "may_oclude", value=True), "veins[1].may_oclude: unknown key; use one of"),
        (put("notes", value="x"), "notes: unknown key; use one of format, version, points"),
        (put("catheter", "enters_at", value="x"), "catheter.enters_at: no point has this id"),
        (put("catheter", "outer_diameter_mm", value=0), "outer_diameter_mm: not above 0"),
        (left_out("catheter", "outer_diameter_mm"), "catheter.outer_diameter_mm: missing"),
    ],
)
def test_what_is_wrong_is_told_with_file_field_and_mend(
    change: Callable[[Document], None], sentence: str
) -> None:
    changed = document()
    change(changed)
    told = refusal(changed)
    (line,) = [line for line in told.splitlines() if sentence in line]
    assert line.startswith("network.json: ")
    assert line.endswith(".")
    assert "; " in line


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "line 1, column 1: not JSON"),
        ('{"format": ', "line 1, column 12: not JSON"),
        ("[]", "file: not an object"),
        ("null", "file: not an object"),
        ("[" * 100_000, "file: not readable as JSON; shorten the number or the nesting"),
        ('{"version": ' + "1" * 5000 + "}", "file: not readable as JSON"),
    ],
)
def test_what_is_no_document_is_told(text: str, sentence: str) -> None:
    assert sentence in refusal(text)


def test_a_key_written_twice_is_told_and_not_guessed_at() -> None:
    text = json.dumps(document()).replace('"cost": 2.5', '"cost": 2.5, "cost": 25')
    assert "veins[1].cost: written twice; leave one of them out" in refusal(text)


def test_everything_that_is_wrong_is_told_at_once() -> None:
    changed = document()
    changed["veins"][0]["length_mm"] = -1
    changed["veins"][1]["to"] = "nowhere"
    changed["catheter"]["enters_at"] = "nowhere"
    assert len(refusal(changed).splitlines()) == 3


def test_a_thousand_faults_are_told_as_twenty_and_a_count() -> None:
    changed = document()
    changed["veins"] = [7] * 1000
    lines = refusal(changed).splitlines()
    assert len(lines) == 21
    assert lines[-1] == "network.json: 980 more; mend these first."


def test_no_value_of_the_file_is_repeated_in_a_refusal() -> None:
    changed = document()
    changed["veins"][0]["from"] = "Harrow, Quentin"
    assert "Harrow" not in refusal(changed)


def test_a_vein_made_in_code_is_valid_once_it_exists() -> None:
    with pytest.raises(ValueError, match="leaves and enters the same point"):
        NetworkVein(
            id="v", from_point="a", to_point="a", length_mm=1, diameter_mm=1, diameter_sd_mm=0,
            may_occlude=True,
        )  # fmt: skip
