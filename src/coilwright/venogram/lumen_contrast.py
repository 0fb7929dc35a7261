"""The contrast in the catheter's lumen: outside the vein it shows how wide the lumen is."""

import numpy as np
import numpy.typing as npt

from coilwright.venogram.blurred_cylinder import Shape, filled_tube
from coilwright.venogram.calibre import CylinderFits

Array = npt.NDArray[np.float64]

ROUNDS = 4
FIRST_OPACITY = 0.2


def contrast_costs(
    contrast: Array, across_px: Array, weights: Array, walls: CylinderFits, shape: Shape
) -> tuple[Array, Array]:
    """What the lumen's contrast leaves unexplained (N,), its strength (N,) being fitted.

    Parameters
    ----------
    contrast : (N, M), absorption with contrast less that without
    walls : the tube as fitted to the same pieces without contrast, under ``shape``

    Returns
    -------
    cost : (N,) weighted sum of squares
    opacity : (N,) absorption of the contrast along the ray through the axis

    Notes
    -----
    Wall and contrast darken the same rays, and the blur acts on what both let through: their
    difference is not the shadow of the lumen alone (a tenth of its radius for a dense wall).
    """
    x = across_px - walls.offset_px[:, None]
    radius, wall = walls.radius_px, walls.opacity_per_px
    density = FIRST_OPACITY / (2.0 * shape.lumen_ratio * radius)
    empty, _ = filled_tube(x, radius, wall, np.zeros_like(wall), shape)
    root = np.sqrt(weights)
    ground = np.stack([root, root * across_px / across_px.max()], axis=-1)
    gram = ground.swapaxes(1, 2) @ ground + 1e-9 * np.eye(2)
    for step in range(ROUNDS + 1):
        full, slope = filled_tube(x, radius, wall, density, shape)
        both = np.stack([(contrast - full + empty) * root, slope * root], axis=-1)
        left = both - ground @ np.linalg.solve(gram, ground.swapaxes(1, 2) @ both)
        if step < ROUNDS:
            change = (left[..., 0] * left[..., 1]).sum(1)
            change /= (left[..., 1] ** 2).sum(1) + 1e-12
            density = np.clip(density + change, 0.2 * density, 5.0 * density)
    return (left[..., 0] ** 2).sum(1), 2.0 * shape.lumen_ratio * radius * density
