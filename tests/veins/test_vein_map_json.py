import json
from dataclasses import replace
from pathlib import Path

import pytest

from coilwright.errors import FileProblem
from coilwright.veins import (
    Calibration,
    CalibrationMethod,
    DiameterMethod,
    Quality,
    Side,
    VeinMap,
    Vessel,
    VesselKind,
    vein_map_from_json,
    vein_map_to_json,
)

FILE = Path("map.json")
TRUNK = Vessel(
    id="trunk",
    kind=VesselKind.TRUNK,
    runs=(0,),
    joins=(),
    diameter_method=DiameterMethod.PROFILE,
    points_px=((1.0, 2.0), (1.0, 4.0)),
    arc_mm=(0.0, 0.5),
    diameter_mm=(4.0, None),
    diameter_sd_mm=(0.1, None),
    depth_relative_sd=(0.01, 0.01),
    opacity=(1.0, None),
    arrival_s=(None, 0.5),
)
MAP = VeinMap(
    runs=(),
    reference_frame=0,
    side=Side.LEFT,
    calibration=Calibration(
        mm_per_pixel=0.25, relative_sd=0.01, method=CalibrationMethod.CATHETER, catheter_fr=5.0
    ),
    vessels=(TRUNK,),
    quality=Quality(contrast_to_noise=20.0, motion_corrected_mm=0.0),
)


def test_keys_are_those_of_the_contract() -> None:
    # DESIGN.md section 3, VeinMap.
    document = json.loads(vein_map_to_json(MAP))
    assert document["format"] == "coilwright.vein-map"
    assert set(document) == {
        "format", "version", "runs", "reference_frame", "side", "calibration", "vessels",
        "landmarks", "catheter", "quality", "edits",
    }  # fmt: skip
    assert set(document["vessels"][0]) == {
        "id", "kind", "runs", "joins", "diameter_method", "points_px", "arc_mm", "diameter_mm",
        "diameter_sd_mm", "depth_relative_sd", "opacity", "arrival_s", "narrowings",
        "leaves_frame",
    }  # fmt: skip
    assert document["vessels"][0]["diameter_mm"] == [4.0, None]


def test_a_map_comes_back_as_it_went() -> None:
    assert vein_map_from_json(vein_map_to_json(MAP), FILE) == MAP


def test_the_side_is_kept_and_its_absence_too() -> None:
    unstated = replace(MAP, side=None)
    assert vein_map_from_json(vein_map_to_json(unstated), FILE).side is None


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"version": 2}, r"map\.json: version: version 2 is not known here"),
        ({"format": "else"}, r"map\.json: format: not a vein map"),
        ({"side": "middle"}, r"map\.json: side: "),
        ({"calibration": {"mm_per_pixel": -1}}, r"map\.json: calibration"),
    ],
)
def test_a_document_that_does_not_fit_is_refused(change: dict[str, object], sentence: str) -> None:
    document = json.loads(vein_map_to_json(MAP)) | change
    with pytest.raises(FileProblem, match=sentence):
        vein_map_from_json(json.dumps(document), FILE)


def test_parallel_arrays_of_different_lengths_are_refused() -> None:
    with pytest.raises(ValueError, match="parallel arrays"):
        replace(TRUNK, arc_mm=(0.0,))
