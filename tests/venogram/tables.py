"""Two tables and a completion run cut out of one rendered run, so that the truth is exact."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
from pydicom.dataset import FileDataset
from pydicom.uid import generate_uid
from scipy.spatial import cKDTree

from coilwright.phantom import Level, Rendered, Truth, random_scene, render
from coilwright.phantom.run_dicom import run_dataset
from coilwright.phantom.truth import TrueVessel
from coilwright.phantom.vein import VeinKind

SEED = 5007
# Rows and columns of the two windows in the whole picture, which is 880 x 512.
UPPER = (20, 500, 0, 440)
LOWER = (240, 720, 24, 464)
LOWER_ON_UPPER_XY = (24.0, 220.0)
Window = tuple[int, int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One rendered run, from which files with other windows are written."""

    rendered: Rendered
    folder: Path

    @property
    def truth(self) -> Truth:
        return self.rendered.truth

    def write(
        self,
        name: str,
        window: Window,
        frames: npt.NDArray[np.uint16] | None = None,
        **attributes: object,
    ) -> Path:
        """The window of the run (or of other frames) as a file, attributes set or, None, gone."""
        top, bottom, left, right = window
        pixels = self.rendered.frames if frames is None else frames
        cut = np.ascontiguousarray(pixels[:, top:bottom, left:right])
        dataset: FileDataset = run_dataset(self.rendered)
        dataset.Rows, dataset.Columns = cut.shape[1:]
        dataset.PixelData = cut.astype("<u2").tobytes()
        dataset.SOPInstanceUID = generate_uid(entropy_srcs=["coilwright.tests", name])
        dataset.file_meta.MediaStorageSOPInstanceUID = dataset.SOPInstanceUID
        for keyword, value in attributes.items():
            if value is None:
                del dataset[keyword]
            else:
                setattr(dataset, keyword, value)
        file = self.folder / f"{name}.dcm"
        dataset.save_as(file, enforce_file_format=True)
        return file


def rendered_table(folder: Path, *, duplicates: bool = False) -> Table:
    """A trunk with its side veins alone: where runs part is tested on maps drawn by hand.

    ``duplicates``: with its parallel channels as well, in the same patient.
    """
    scene = random_scene(SEED, Level.STILL)
    kept = {VeinKind.TRUNK, VeinKind.SIDE_VEIN, *([VeinKind.DUPLICATE] if duplicates else [])}
    veins = [vein for vein in scene.veins if vein.kind in kept]
    plain = tuple(
        vein for vein in veins if all(join.vessel == scene.trunk.id for join in vein.joins)
    )
    return Table(rendered=render(replace(scene, veins=plain, frames=16)), folder=folder)


def with_trunk_emptied_below(table: Table, row: int) -> npt.NDArray[np.uint16]:
    """The run's frames with the contrast of the trunk gone from ``row`` down, channels left in."""
    random = np.random.default_rng(12)
    frames = table.rendered.frames.copy()
    trunk, *others = table.truth.vessels
    gone = _near(trunk, table, 5.0)
    gone[:row] = False
    for other in others:
        if other.kind is VeinKind.DUPLICATE:
            gone &= ~_near(other, table, 3.0)
    first = table.truth.first_contrast_frame
    for frame in range(first, len(frames)):
        pick = random.integers(0, first, frames.shape[1:])
        before = np.take_along_axis(frames[:first], pick[None], 0)[0]
        frames[frame][gone] = before[gone]
    return frames


def _near(vessel: TrueVessel, table: Table, margin_px: float) -> npt.NDArray[np.bool_]:
    """Pixels in a vessel's true shadow, margin included."""
    rows, columns = table.rendered.frames.shape[1:]
    y, x = np.divmod(np.arange(rows * columns), columns)
    away, nearest = cKDTree(np.array(vessel.points_px)).query(np.column_stack([x, y]))
    half_px = np.array(vessel.diameter_mm)[nearest] / 2.0 / table.truth.scale.over_trunk
    near: npt.NDArray[np.bool_] = (away <= half_px + margin_px).reshape(rows, columns)
    return near


def without_contrast_below(
    table: Table, row: int, to_row: int | None = None
) -> npt.NDArray[np.uint16]:
    """The run's frames with contrast gone from ``row`` of the whole picture down to ``to_row``.

    Each pixel there is that of one of the frames before contrast, picked at random: noise and
    bone are the rendered ones.
    """
    random = np.random.default_rng(11)
    frames = table.rendered.frames.copy()
    first = table.truth.first_contrast_frame
    for frame in range(first, len(frames)):
        pick = random.integers(0, first, frames.shape[1:])
        before = np.take_along_axis(frames[:first], pick[None], 0)[0]
        frames[frame, row:to_row] = before[row:to_row]
    return frames


def with_contrast_moved(table: Table, right_px: int, down_px: int) -> npt.NDArray[np.uint16]:
    """The run's frames with the contrast alone moved, as breathing moves veins on bone.

    LIN pixels are proportional to the beam: frame over mask is what contrast lets through.
    """
    frames = table.rendered.frames.astype(np.float64)
    first = table.truth.first_contrast_frame
    mask = np.maximum(frames[:first].mean(0), 1.0)
    moved = frames.copy()
    for frame in range(first, len(frames)):
        through = np.roll(frames[frame] / mask, (down_px, right_px), axis=(0, 1))
        moved[frame] = mask * through
    return np.rint(moved).astype(np.uint16)
