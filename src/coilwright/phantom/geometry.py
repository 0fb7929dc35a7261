"""The X-ray cone: source, isocentre, flat detector.

Everything of a scene lives in one frame of millimetres with its origin at the isocentre:
x to the patient's left (picture right), y towards the feet (picture down), z along the beam
from source to detector. Picture points are (x = column, y = row), pixel centres at integers.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cone:
    """A point source and a flat detector at right angles to the central ray.

    Examples
    --------
    >>> cone = Cone(source_to_detector_mm=1100.0, source_to_isocentre_mm=750.0,
    ...             imager_spacing_mm=0.308, rows=512, columns=512)
    >>> round(cone.isocentre_mm_per_pixel, 4)
    0.21
    """

    source_to_detector_mm: float
    source_to_isocentre_mm: float
    imager_spacing_mm: float
    rows: int
    columns: int

    def __post_init__(self) -> None:
        if not 0 < self.source_to_isocentre_mm < self.source_to_detector_mm:
            raise ValueError("the isocentre must lie between source and detector")
        if not (self.imager_spacing_mm > 0 and self.rows > 0 and self.columns > 0):
            raise ValueError("spacing, rows and columns must be positive")

    @property
    def magnification(self) -> float:
        """Magnification of the plane through the isocentre."""
        return self.source_to_detector_mm / self.source_to_isocentre_mm

    @property
    def isocentre_mm_per_pixel(self) -> float:
        """Pixel pitch in the plane through the isocentre."""
        return self.imager_spacing_mm / self.magnification

    @property
    def centre_px(self) -> Floats:
        """Where the central ray meets the picture, (x, y)."""
        return np.array([(self.columns - 1) / 2, (self.rows - 1) / 2])

    @property
    def source_mm(self) -> Floats:
        """Place of the source."""
        return np.array([0.0, 0.0, -self.source_to_isocentre_mm])

    def mm_per_pixel(self, points_mm: Floats) -> Floats:
        """Pixel pitch in the plane, parallel to the detector, of each (N, 3) point."""
        source_distance_mm = self.source_to_isocentre_mm + points_mm[:, 2]
        return self.imager_spacing_mm * source_distance_mm / self.source_to_detector_mm

    def project_px(self, points_mm: Floats) -> Floats:
        """Picture points (N, 2), order (x, y), of (N, 3) points."""
        return points_mm[:, :2] / self.mm_per_pixel(points_mm)[:, None] + self.centre_px

    def at_isocentre_mm(self, points_px: Floats) -> Floats:
        """(N, 2) millimetres in the isocentre's plane of (N, 2) picture points."""
        return (points_px - self.centre_px) * self.isocentre_mm_per_pixel

    def ray_directions(self, points_px: Floats) -> Floats:
        """Unit vectors (N, 3) from the source through (N, 2) picture points."""
        on_detector_mm = (points_px - self.centre_px) * self.imager_spacing_mm
        depth_mm = np.full(len(points_px), self.source_to_detector_mm)
        towards = np.column_stack([on_detector_mm, depth_mm])
        return np.asarray(towards / np.linalg.norm(towards, axis=1, keepdims=True))
