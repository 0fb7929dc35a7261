"""The calibre where other vessels join or run close by: little of the profile is the vein's own.

There the fit is mostly too wide, since the other vessel's contrast is in it, yet it is all that
shows a narrowing. A vein changes slowly: its calibre is taken as a random walk that is known where
nothing is near, and that the fits beside other vessels pull at, those far too wide hardly at all.
"""

from dataclasses import replace

import numpy as np
import numpy.typing as npt
from scipy.linalg import solveh_banded
from scipy.ndimage import binary_dilation

from coilwright.venogram.samples import SAMPLE_STEP_MM, Samples

Array = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]

BESIDE_MOUTH_MM = 3.0
FEWEST_CLEAN = 8
# How far a vein's calibre walks within a millimetre, as part of it, and how well a clean fit and
# one beside another vessel know it; all chosen on rendered runs.
WALK_PER_ROOT_MM = 0.025
CLEAN_PART, BESIDE_PART = 0.008, 0.03
# Fits beside another vessel err alike over this length.
ALIKE_MM = 2.0
# A fit this much too wide counts for a quarter; too narrow, three times as much. At first the
# limit is wider, lest the walk start from a narrowing that ends beneath the other vessel.
TOO_WIDE_PART, TOO_NARROW_PART, FIRST_ROUND = 0.04, 0.12, 3.0
ROUNDS = 8


def over_mouths(samples: Samples, mouths: Flags) -> Samples:
    """Samples at the mouths of other vessels and just beside set by their neighbours and sd's."""
    beside = binary_dilation(mouths, iterations=round(BESIDE_MOUTH_MM / SAMPLE_STEP_MM))
    measured = np.isfinite(samples.diameter_px)
    clean = ~beside & measured
    if clean.sum() < FEWEST_CLEAN or not mouths.any():
        return samples
    walked, sd = _random_walk(samples.diameter_px, clean, beside & measured)
    own = np.interp(np.arange(len(clean)), np.flatnonzero(clean), samples.diameter_sd_px[clean])
    return replace(
        samples,
        diameter_px=np.where(beside, walked, samples.diameter_px),
        diameter_sd_px=np.where(beside, np.hypot(sd, own), samples.diameter_sd_px),
    )


def _random_walk(fitted: Array, clean: Flags, beside: Flags) -> tuple[Array, Array]:
    """The likeliest walk (N,) through the fits, and its standard deviation."""
    usual = float(np.median(fitted[clean]))
    known = np.where(np.isfinite(fitted), fitted, 0.0)
    by_clean = np.where(clean, 1.0 / (CLEAN_PART * usual) ** 2, 0.0)
    by_beside = np.where(beside, SAMPLE_STEP_MM / ALIKE_MM / (BESIDE_PART * usual) ** 2, 0.0)
    order = np.arange(len(fitted))
    walked = np.interp(order, order[clean], fitted[clean])
    bond = 1.0 / ((WALK_PER_ROOT_MM * usual) ** 2 * SAMPLE_STEP_MM)
    bonds = _bonds(len(fitted)) * bond
    for step in range(ROUNDS):
        wider = TOO_WIDE_PART * usual * (FIRST_ROUND + (1.0 - FIRST_ROUND) * step / (ROUNDS - 1))
        too_wide = np.maximum(known - walked, 0.0) / wider
        too_narrow = np.maximum(walked - known, 0.0) / (TOO_NARROW_PART * usual)
        trust = 1.0 / ((1.0 + too_wide**2) ** 2 * (1.0 + too_narrow**2))
        weight = by_clean + by_beside * trust
        precision = bonds + np.stack([np.zeros_like(weight), weight])
        walked = solveh_banded(precision, weight * known)
    return walked, np.sqrt(np.diag(solveh_banded(precision, np.eye(len(fitted)))))


def _bonds(count: int) -> Array:
    """Each sample tied to its neighbours: the walk's inverse covariance, its upper two bands."""
    beside, itself = np.full(count, -1.0), np.full(count, 2.0)
    itself[[0, -1]] = 1.0
    return np.stack([beside, itself])
