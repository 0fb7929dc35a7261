"""Draws of the calibres: what each vein might really be, all of one network at a time.

A vein's own error and the scale's are drawn apart, the scale's once for the whole network: it is
common to all veins and does not average out (practitioner's review, truth and safety 3).
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.veins.vein_network import NetworkVein

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibreDraws:
    """``diameters_mm`` and ``conductances_mm3`` (veins, draws), and ``scale`` (draws,)."""

    diameters_mm: Array
    conductances_mm3: Array
    scale: Array


def drawn_calibres(
    veins: tuple[NetworkVein, ...],
    *,
    scale_relative_sd: float,
    draws: int,
    generator: np.random.Generator,
) -> CalibreDraws:
    """Draw every vein's diameter, lognormal about its relaxed calibre where known, else measured.

    A vein's stated standard deviation holds the scale's part already: what is left of it in
    quadrature is the vein's own. The scale multiplies lengths as it does diameters.
    """
    centre_mm = np.array([vein.passable_mm for vein in veins])
    stated = np.array([vein.diameter_sd_mm / vein.passable_mm for vein in veins])
    own = np.sqrt(np.maximum(stated**2 - scale_relative_sd**2, 0.0))
    scale = np.exp(_log_sd(scale_relative_sd) * generator.standard_normal(draws))
    normals = generator.standard_normal((len(veins), draws))
    diameters_mm = centre_mm[:, None] * np.exp(_log_sd(own)[:, None] * normals) * scale
    lengths_mm = np.array([vein.length_mm for vein in veins])[:, None] * scale
    squared = diameters_mm * diameters_mm
    return CalibreDraws(
        diameters_mm=diameters_mm,
        conductances_mm3=squared * squared / lengths_mm,
        scale=scale,
    )


def _log_sd(relative_sd: npt.ArrayLike) -> Array:
    """Standard deviation of the logarithm of a lognormal with this relative deviation."""
    sd: Array = np.sqrt(np.log1p(np.square(relative_sd)))
    return sd
