"""The body around the vein as optical depth: soft tissue, bone, gas, table, collimator."""

from dataclasses import dataclass

import cv2
import numpy as np

from coilwright.phantom.bones import add_pelvis, add_ribs, add_spine, ramus_edge_mm
from coilwright.phantom.geometry import Cone, Floats
from coilwright.phantom.outlines import add_ball, ellipse, lobed

# Linear attenuation of soft tissue near 60 keV, 0.02 /mm (from memory, NISTIR 5632).
_TISSUE_PER_MM = 0.02
_BLADE_DEPTH = 6.0
_PENUMBRA_MM = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Anatomy:
    """What stands in the beam besides vein and catheter.

    Places are in the isocentre's plane: the midline's x and the y of the sacrum's upper edge.
    ``*_gain`` are 1 for a plausible body and 0 for none. Collimator blades reach
    (left, top, right, bottom) pixels into the picture.
    """

    seed: int
    midline_mm: float
    sacrum_mm: float
    vertebra_pitch_mm: float
    pelvis_scale: float
    bone_gain: float
    tissue_gain: float
    texture: float
    gas_bubbles: int
    table_edge_mm: float | None
    blades_px: tuple[int, int, int, int]

    @property
    def sacrum_place(self) -> Floats:
        """Middle of the sacrum's upper edge, (x, y) mm."""
        return np.array([self.midline_mm, self.sacrum_mm])

    def ramus_edge_px(self, cone: Cone) -> Floats:
        """The left superior ramus edge (N, 2) in the picture, lateral to medial."""
        edge_mm = ramus_edge_mm(self.sacrum_place, self.pelvis_scale)
        return edge_mm / cone.isocentre_mm_per_pixel + cone.centre_px

    def still_depth(self, cone: Cone) -> Floats:
        """Bone, table and collimator (R, C): what breathing does not move."""
        depth = np.zeros((cone.rows, cone.columns))
        if self.bone_gain > 0:
            add_spine(depth, cone, self.sacrum_place, self.vertebra_pitch_mm, self.bone_gain)
            add_pelvis(depth, cone, self.sacrum_place, self.pelvis_scale, self.bone_gain)
        if self.table_edge_mm is not None:
            x_mm, _ = _grid_mm(cone)
            depth += 0.09 / (1.0 + np.exp(-(x_mm - self.table_edge_mm) / 1.2))
        return depth + self._blades(cone)

    def moving_depth(self, cone: Cone) -> Floats:
        """Soft tissue and ribs (R, C): what breathing moves, in the pose of rest."""
        depth = np.zeros((cone.rows, cone.columns))
        if self.tissue_gain > 0:
            depth += self.tissue_gain * self._tissue(cone)
        if self.bone_gain > 0:
            add_ribs(depth, cone, self.sacrum_place, self.vertebra_pitch_mm, self.bone_gain)
        if self.texture > 0:
            depth += self.texture * _texture(cone, self.seed)
        return depth

    def gas_depth(self, cone: Cone, shift_mm: Floats, drift_mm: float, time_s: float) -> Floats:
        """Bowel gas (R, C), each bubble on a way of its own by up to ``drift_mm``."""
        depth = np.zeros((cone.rows, cone.columns))
        random = np.random.default_rng([self.seed, 3])
        for _ in range(self.gas_bubbles):
            centre = self._bubble_place(cone, random)
            radius_mm = float(np.exp(random.normal(np.log(7.5), 0.4)))
            phase, way = random.uniform(0, 2 * np.pi, 2)
            ease = np.sin(1.1 * time_s + phase) - np.sin(phase)
            own = 0.5 * drift_mm * ease * np.array([np.cos(way), np.sin(way)])
            shape = lobed((0.0, 0.0), radius_mm, random)
            middle = -_TISSUE_PER_MM * random.uniform(0.5, 1.3) * radius_mm
            add_ball(depth, cone, shape + centre + own + shift_mm, middle)
        return depth

    def _bubble_place(self, cone: Cone, random: np.random.Generator) -> Floats:
        """Two bubbles in three lie along the descending colon, the others anywhere."""
        half_mm = cone.isocentre_mm_per_pixel * np.array([cone.columns, cone.rows]) / 2
        anywhere = random.uniform(-half_mm, half_mm)
        colon = np.array([self.midline_mm + 98.0 + random.normal(0.0, 7.0), anywhere[1]])
        return colon if random.uniform() < 2 / 3 else anywhere

    def _tissue(self, cone: Cone) -> Floats:
        x_mm, y_mm = _grid_mm(cone)
        aside_mm = x_mm - self.midline_mm
        flank = -0.55 * (aside_mm / 150.0) ** 2
        slope = 0.0012 * (y_mm - y_mm.mean())
        rolling = 0.16 * _rolling(cone, self.seed, 70.0) + 0.07 * _rolling(
            cone, self.seed + 1, 22.0
        )
        above_mm = self.sacrum_mm - y_mm
        psoas_mm = 22.0 + 0.2 * (5.5 * self.vertebra_pitch_mm - above_mm)
        psoas = 0.11 / (1.0 + np.exp((np.abs(aside_mm) - psoas_mm) / 1.5))
        kidney = np.zeros_like(x_mm)
        middle_mm = (self.midline_mm + 62.0, self.sacrum_mm - 5.1 * self.vertebra_pitch_mm)
        add_ball(kidney, cone, ellipse(middle_mm, (27.0, 54.0), 12.0), 0.17)
        return np.asarray(flank + slope + rolling + psoas + kidney)

    def _blades(self, cone: Cone) -> Floats:
        row, column = np.arange(cone.rows)[:, None], np.arange(cone.columns)[None, :]
        left, top, right, bottom = self.blades_px
        open_px = np.minimum(
            np.minimum(
                np.where(left > 0, column - left, np.inf),
                np.where(right > 0, cone.columns - 1 - right - column, np.inf),
            ),
            np.minimum(
                np.where(top > 0, row - top, np.inf),
                np.where(bottom > 0, cone.rows - 1 - bottom - row, np.inf),
            ),
        )
        soft_px = _PENUMBRA_MM / cone.imager_spacing_mm
        return np.asarray(_BLADE_DEPTH / (1.0 + np.exp(np.clip(open_px / soft_px, -50, 50))))


def _grid_mm(cone: Cone) -> tuple[Floats, Floats]:
    pitch_mm = cone.isocentre_mm_per_pixel
    x_mm = (np.arange(cone.columns) - cone.centre_px[0]) * pitch_mm
    y_mm = (np.arange(cone.rows) - cone.centre_px[1]) * pitch_mm
    grid_x, grid_y = np.meshgrid(x_mm, y_mm)
    return grid_x, grid_y


def _rolling(cone: Cone, seed: int, size_mm: float) -> Floats:
    """A smooth random field of unit spread with hills of about a size."""
    random = np.random.default_rng([seed, 1])
    pitch_mm = cone.isocentre_mm_per_pixel
    cell_mm = size_mm / 3.0
    shape = (int(cone.rows * pitch_mm / cell_mm) + 8, int(cone.columns * pitch_mm / cell_mm) + 8)
    coarse = cv2.GaussianBlur(random.normal(size=shape), (0, 0), 1.2)
    coarse = (coarse - coarse.mean()) / coarse.std()
    zoom = cell_mm / pitch_mm
    wide = cv2.resize(coarse, None, fx=zoom, fy=zoom, interpolation=cv2.INTER_CUBIC)
    return np.asarray(wide[: cone.rows, : cone.columns])


def _texture(cone: Cone, seed: int) -> Floats:
    """Fine tissue texture of unit spread, coarser grain stronger."""
    grains_mm = (8.0, 4.0, 2.0, 1.0)
    layers = [0.8**n * _rolling(cone, seed + 10 + n, size) for n, size in enumerate(grains_mm)]
    field = np.sum(layers, axis=0)
    return np.asarray(field / field.std())
