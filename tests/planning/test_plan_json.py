"""The plan as JSON: it comes back whole, and what is no plan is refused in one sentence."""

import json
from datetime import date
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.planning import OcclusionPlan, plan_from_json, plan_occlusion, plan_to_json
from coilwright.protocol import load_protocol
from coilwright.veins import VeinMap
from planning.straight_trunks import (
    demo_kit,
    side_vein,
    straight_vessel,
    vein_map_of,
    without_landmarks,
)

FILE = Path("plan.json")
FULL = vein_map_of(straight_vessel(), side_vein("s", at_mm=140))


def planned(vein_map: VeinMap) -> OcclusionPlan:
    return plan_occlusion(vein_map, demo_kit(), load_protocol(), on=date(2026, 3, 12))


@pytest.mark.parametrize("vein_map", [FULL, without_landmarks(FULL)])
def test_a_plan_comes_back_as_it_was(vein_map: VeinMap) -> None:
    before = planned(vein_map)
    assert plan_from_json(plan_to_json(before), FILE) == before


def test_the_document_names_its_format_and_holds_the_contract_s_keys() -> None:
    document = json.loads(plan_to_json(planned(FULL)))
    # DESIGN.md section 3, OcclusionPlan.
    assert (document["format"], document["version"]) == ("coilwright.plan", 1)
    assert document["least_closure"]["complete"] is True
    assert document["pathways_left"]["open_pathways"] == []
    rows = [row["technique"] for row in document["techniques"]["rows"]]
    assert rows == ["coils-alone", "coils-and-sclerosant", "sclerosant-alone", "liquid-adhesive"]
    level = document["levels"][0]
    assert {"vessel", "from_mm", "to_mm", "bony_landmark"} <= level["zone"].keys()
    choice = level["choices"][0]
    assert {"oversize_ratio", "probability_undersized", "nest_length_mm"} <= choice.keys()
    assert choice["delivery"]["passes"] is True


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "plan.json: line 1: not JSON; give a plan written by plan"),
        ("[]", "plan.json: format: not a plan"),
        ('{"format": "coilwright.vein-map", "version": 1}', "format: not a plan"),
        ('{"format": "coilwright.plan", "version": 2}', "version: version 2 is not known here"),
        ('{"format": "coilwright.plan", "version": 1}', "Field required; plan again or mend"),
    ],
)
def test_what_is_no_plan_is_refused(text: str, sentence: str) -> None:
    with pytest.raises(FileProblem, match=sentence):
        plan_from_json(text, FILE)
