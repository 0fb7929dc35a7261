"""Write the JSON Schemas of the published documents to docs/schemas."""

import json
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from coilwright.assessment import Assessment
from coilwright.kit import FitAnswer
from coilwright.planning import OcclusionPlan, PullList
from coilwright.planning.least_closure import LeastClosure
from coilwright.record import Shelf, case_schema
from coilwright.veins import Comparison, VeinMap
from coilwright.veins.vein_network import VeinNetwork
from coilwright.workflow.shelf_review import ShelfReview

FOLDER = Path(__file__).parent.parent / "docs" / "schemas"
DOCUMENTS: dict[str, tuple[type, int]] = {
    "coilwright.vein-map": (VeinMap, 1),
    "coilwright.vein-network": (VeinNetwork, 1),
    "coilwright.least-closure": (LeastClosure, 1),
    "coilwright.plan": (OcclusionPlan, 1),
    "coilwright.assessment": (Assessment, 1),
    "coilwright.comparison": (Comparison, 1),
    "coilwright.fits": (FitAnswer, 1),
    "coilwright.pull-list": (PullList, 1),
    "coilwright.shelf": (Shelf, 1),
    "coilwright.shelf-review": (ShelfReview, 1),
}
CASE_FILE = "coilwright.case.1.json"


def schema_text(name: str) -> str:
    """The schema of one document, with the format and version that head it."""
    kind, version = DOCUMENTS[name]
    schema: dict[str, Any] = TypeAdapter(kind).json_schema(mode="serialization")
    schema["title"] = name
    head = {"format": {"const": name}, "version": {"const": version}}
    schema["properties"] = head | schema["properties"]
    schema["required"] = ["format", "version", *schema.get("required", [])]
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def case_schema_text() -> str:
    """The schema of the case file, as the code that reads it tells it."""
    return json.dumps(case_schema(), indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Write every schema."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, (_, version) in DOCUMENTS.items():
        (FOLDER / f"{name}.{version}.json").write_text(schema_text(name), encoding="utf-8")
    (FOLDER / CASE_FILE).write_text(case_schema_text(), encoding="utf-8")


if __name__ == "__main__":
    main()
