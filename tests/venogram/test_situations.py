"""Three runs that every suite meets, rendered: what the program must say of each.

Practitioner's review, "three situations to build for first".
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

from coilwright.phantom import Scene, Truth, render, write_run
from coilwright.phantom.bystanders import Ureter
from coilwright.phantom.situations import competent_valve, late_run, trunk_in_spasm
from coilwright.veins import DiameterMethod, VeinMap
from coilwright.venogram import ScaleChoice, measure_run, read_run

NEAR_MM = 2.0


def measured(scene: Scene, folder: Path) -> tuple[VeinMap, Truth]:
    rendered = render(scene)
    file = folder / "run.dcm"
    write_run(rendered, file)
    return measure_run(read_run(file), ScaleChoice(catheter_fr=5.0)).vein_map, rendered.truth


def codes(vein_map: VeinMap) -> set[str]:
    return {notice.code for notice in vein_map.quality.warnings}


@pytest.fixture(scope="module")
def late(tmp_path_factory: pytest.TempPathFactory) -> tuple[VeinMap, Truth]:
    return measured(late_run(), tmp_path_factory.mktemp("late"))


def test_a_late_run_is_measured_and_says_what_kind_of_measurement_it_is(
    late: tuple[VeinMap, Truth],
) -> None:
    vein_map, truth = late
    assert "display-processed" in codes(vein_map)
    assert vein_map.trunk is not None
    assert vein_map.trunk.diameter_method is DiameterMethod.EDGE_WIDTH
    mm = truth.scale.at_catheter
    away, _ = cKDTree(np.array(vein_map.trunk.points_px)).query(np.array(truth.trunk.points_px))
    assert float((away * mm < 1.0).mean()) > 0.95


def test_the_ureter_is_no_vein(late: tuple[VeinMap, Truth]) -> None:
    vein_map, truth = late
    scene = late_run()
    (ureter,) = (b for b in scene.bystanders if isinstance(b, Ureter))
    line_px = cKDTree(scene.cone.project_px(ureter.course().points_mm))
    mm = truth.scale.at_catheter
    for vessel in vein_map.vessels:
        away, _ = line_px.query(np.array(vessel.points_px))
        # Veins may cross it; none may run along it.
        along_mm = float((away * mm < NEAR_MM).sum()) * vessel.length_mm / len(vessel.points_px)
        assert along_mm < 12.0, vessel.id


def test_a_trunk_wholly_in_spasm_has_no_relaxed_calibre(tmp_path: Path) -> None:
    vein_map, _ = measured(trunk_in_spasm(), tmp_path)
    assert "trunk-wholly-narrow" in codes(vein_map)
    assert vein_map.trunk is not None
    (whole,) = vein_map.trunk.narrowings
    assert whole.relaxed_diameter_mm is None
    (notice,) = (n for n in vein_map.quality.warnings if n.code == "trunk-wholly-narrow")
    assert "wait, nitrate if safe, run again" in notice.text


def test_a_valve_that_holds_leaves_no_ostium_and_says_what_to_inject(tmp_path: Path) -> None:
    vein_map, _ = measured(competent_valve(), tmp_path)
    assert vein_map.landmarks.ostium is None
    (notice,) = (n for n in vein_map.quality.warnings if n.code == "ostium-not-shown")
    assert "inject the renal vein with Valsalva" in notice.text
