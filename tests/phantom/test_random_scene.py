"""Scenes drawn at random keep to what was asked of them."""

from pathlib import Path

import numpy as np
import pydicom
import pytest

from coilwright.phantom import Level, random_scene, truth_from_json
from coilwright.phantom.__main__ import main
from coilwright.phantom.storage import Relationship
from coilwright.phantom.true_run import true_run

SEEDS = range(25)


@pytest.mark.parametrize("level", list(Level))
def test_the_same_seed_draws_the_same_scene(level: Level) -> None:
    assert random_scene(11, level) == random_scene(11, level)
    assert random_scene(11, level) != random_scene(12, level)


@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("seed", SEEDS)
def test_settings_keep_to_their_ranges(seed: int, level: Level) -> None:
    # Ranges of the task: 512-1024 pixels, 12-40 frames, 2-7.5 frames a second, 4-6 Fr, vein
    # calibre up to 8 mm, 0.2-0.9 optical depth for 4 mm (0.05-0.225 /mm), LIN or LOG.
    scene = random_scene(seed, level)
    assert {512 <= size <= 1024 for size in (scene.cone.rows, scene.cone.columns)} == {True}
    assert 12 <= scene.frames <= 40
    assert 2.0 <= scene.frames_per_s <= 7.5
    assert 4.0 <= scene.catheter.size_fr <= 6.0
    assert 0.10 <= scene.cone.isocentre_mm_per_pixel <= 0.35
    assert 0.05 <= scene.injection.vein_per_mm <= 0.225
    assert scene.storage.relationship in (Relationship.LIN, Relationship.LOG)
    assert max(scene.trunk.relaxed_diameters_mm) <= 8.0


@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("seed", SEEDS)
def test_a_run_has_a_mask_and_fills_the_trunk_before_it_ends(seed: int, level: Level) -> None:
    scene = random_scene(seed, level)
    truth = true_run(scene)
    assert truth.first_contrast_frame >= 3
    full_s = max(truth.trunk.arrival_s) + scene.injection.rise_s
    assert full_s < truth.frame_times_s[-1]
    shown_mm = truth.trunk.projected_arc_mm[-1] - truth.trunk.projected_arc_mm[0]
    assert shown_mm > 100.0


@pytest.mark.parametrize("seed", SEEDS)
def test_nothing_moves_in_a_still_run_and_something_does_in_the_others(seed: int) -> None:
    identity = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])
    moved = {
        level: max(
            float(np.abs(np.array(frame) - identity).max())
            for frame in true_run(random_scene(seed, level)).to_frame_px
        )
        for level in Level
    }
    assert moved[Level.STILL] == 0.0
    assert moved[Level.BREATHING] > 0.0
    assert moved[Level.HARD] > 0.0


def test_the_command_writes_runs_with_their_truth(tmp_path: Path) -> None:
    main(["--seed", "9", "--level", "still", "--out", str(tmp_path)])
    dataset = pydicom.dcmread(tmp_path / "run9.dcm")
    truth = truth_from_json((tmp_path / "run9.truth.json").read_text(encoding="utf-8"))
    assert dataset.NumberOfFrames == len(truth.frame_times_s)
    assert truth.settings["seed"] == 9
