"""The same rendered run, stored as suites store it, against its known truth."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pydicom
import pytest
from pydicom.dataset import Dataset
from scipy.spatial import cKDTree

from coilwright.phantom import Level, Truth, random_scene, render, write_run
from coilwright.veins import VeinMap
from coilwright.venogram import ScaleChoice, measure_run, read_run

SEED = 5000


class Stored:
    """A rendered run in a file, and what has been done to it since."""

    def __init__(self, folder: Path) -> None:
        rendered = render(random_scene(SEED, Level.STILL))
        self.truth: Truth = rendered.truth
        self.file = folder / "run.dcm"
        write_run(rendered, self.file)

    def measured(self, change: Callable[[Dataset], None]) -> VeinMap:
        dataset = pydicom.dcmread(self.file)
        change(dataset)
        changed = self.file.with_name("changed.dcm")
        dataset.save_as(changed)
        scale = ScaleChoice(mm_per_pixel=self.truth.scale.at_catheter)
        return measure_run(read_run(changed), scale).vein_map

    def covered(self, found: VeinMap) -> float:
        """Part of the true trunk within 1 mm of the found one."""
        assert found.trunk is not None
        away, _ = cKDTree(np.array(found.trunk.points_px)).query(
            np.array(self.truth.trunk.points_px)
        )
        return float((away * self.truth.scale.over_trunk < 1.0).mean())


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Stored:
    return Stored(tmp_path_factory.mktemp("kinds"))


def codes(found: VeinMap) -> set[str]:
    return {notice.code for notice in found.quality.warnings}


def with_frames(dataset: Dataset, frames: np.ndarray) -> None:
    kind = "<u2" if dataset.BitsAllocated == 16 else "u1"
    dataset.NumberOfFrames = len(frames)
    dataset.PixelData = frames.astype(kind).tobytes()


def subtracted(dataset: Dataset) -> None:
    """8 bits about 128, as a console stores a subtraction of this LIN run; by numpy."""
    assert dataset.PixelIntensityRelationship == "LIN"
    nepers = -np.log(np.maximum(dataset.pixel_array.astype(np.float64), 1.0))
    change = nepers - nepers[:2].mean(0)
    gain = 100 / np.percentile(np.abs(change[-1]), 99.9)
    dataset.BitsAllocated, dataset.BitsStored, dataset.HighBit = 8, 8, 7
    dataset.PixelIntensityRelationship = "DISP"
    with_frames(dataset, np.clip(np.rint(128 - gain * change), 0, 255))


def washing_out(dataset: Dataset) -> None:
    with_frames(dataset, dataset.pixel_array[::-1])


def one_a_second(dataset: Dataset) -> None:
    every = max(1, round(1000 / float(dataset.FrameTime)))
    with_frames(dataset, dataset.pixel_array[::every])
    dataset.FrameTime = str(float(dataset.FrameTime) * every)


def test_a_subtracted_run_is_not_subtracted_again(stored: Stored) -> None:
    found = stored.measured(subtracted)
    assert {"already-subtracted", "display-processed"} <= codes(found)
    assert found.runs[0].mask_frames == ()
    assert stored.covered(found) >= 0.95


def test_a_run_that_washes_out_takes_its_mask_from_the_end(stored: Stored) -> None:
    found = stored.measured(washing_out)
    assert "late-mask" in codes(found)
    assert min(found.runs[0].mask_frames) > found.runs[0].frames // 2
    assert stored.covered(found) >= 0.95
    # Filled before the first frame: nobody knows when.
    assert found.trunk is not None
    assert all(arrival is None for arrival in found.trunk.arrival_s)


def test_one_frame_a_second_is_enough(stored: Stored) -> None:
    found = stored.measured(one_a_second)
    times = found.runs[0].frame_times_s
    assert times is not None
    assert times[1] == pytest.approx(1.0, abs=0.3)
    assert stored.covered(found) >= 0.95
