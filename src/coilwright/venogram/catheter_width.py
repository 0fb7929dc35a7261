"""The catheter's width in pixels: blurred tubes fitted along it in the raw, averaged frames."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from coilwright.units import fr_to_mm
from coilwright.venogram.blur import Blur, Chain
from coilwright.venogram.calibre import CylinderFits, fit_cylinders
from coilwright.venogram.lumen_contrast import contrast_costs
from coilwright.venogram.raw_profiles import BIN_SIGMA_PX

Array = npt.NDArray[np.float64]

LUMEN_RATIOS = np.array([0.36, 0.43, 0.50, 0.56, 0.62, 0.68, 0.74, 0.80])
FINE_RATIOS = np.linspace(LUMEN_RATIOS[0], LUMEN_RATIOS[-1], 89)
# Labelled lumens are 0.035 to 0.047 in, 0.038 in as a rule for 5 F (CLINICAL.md section 7), and a
# wall is hardly thinner than 0.2 mm (from memory).
USUAL_LUMEN_MM = 1.04
WIDEST_LUMEN_RATIO = 0.70
LUMEN_RATIO_SD = 0.06
# Bone edges cross the catheter and the chain is not quite what it is taken for: the pieces' word
# counts for this part of what independent noise alone would give it (chosen on rendered runs).
TRUST = 0.1
# What remains of a tube fit when noise is gone, and what the pieces' own scatter is at least.
MODEL_RELATIVE_SD = 0.006
PIECE_RELATIVE_SD = 0.01
FEWEST_PIECES = 3
# The way from the cava to the vein slopes by half a millimetre a millimetre at most, and ends some
# 20 mm away in depth, at 750 mm from the source (our own estimate, no source).
DEPTH_PER_RADIUS = 0.0006
DEPTH_RELATIVE_SD = 0.025
# Beyond this many radii from the vein's wall what fills is the lumen alone.
OUTSIDE_RADII = 3.0
# A lumen counts as seen from this many standard deviations of a pixel.
CLEAR_LUMEN = 6.0
# A profile that leaves more than this part of the wall's absorption unexplained is no catheter.
UNCLEAN_PART = 0.25


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterWidth:
    """Outer radius in pixels, its relative standard deviation, and the lumen that fitted."""

    radius_px: float
    relative_sd: float
    lumen_ratio: float
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """Profiles of short pieces of catheter, (N, M) each, from the border to the tip.

    ``walls`` is the absorption before contrast; ``contrast`` what contrast adds; ``pixels`` how
    many pixels are in each value. ``beside_px`` (N,) is the distance from the vein's wall, 0 in it.
    """

    walls: Array
    contrast: Array
    pixels: Array
    across_px: Array
    beside_px: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class _Guess:
    """The pieces under one chain, for each of the lumens: (L, N) arrays."""

    chain: Chain
    wall_costs: Array
    lumen_costs: Array
    radius_px: Array
    clean: npt.NDArray[np.bool_]


def usual_lumen_ratio(catheter_fr: float) -> float:
    """Inner over outer diameter that is usual for a French size."""
    return min(USUAL_LUMEN_MM / fr_to_mm(catheter_fr), WIDEST_LUMEN_RATIO)


def fit_width(
    pieces: Pieces, start_radius_px: float, blur: Blur, lumen_ratio: float
) -> CatheterWidth | None:
    """Width shared by the pieces, or None where too few look like a tube.

    ``lumen_ratio`` is the usual one for the catheter's size.

    Notes
    -----
    Lumen, blur and width hang together: 0.05 more in the lumen's ratio is 2.5 % less in width. The
    answer is the mean over lumens and the vein's own likely chains, weighted by how well the walls
    fit before contrast and the lumen with it, and the spread is in the uncertainty.
    """
    if len(pieces.walls) < FEWEST_PIECES:
        return None
    guesses = [_guess(pieces, start_radius_px, chain) for chain in blur.chains]
    clean = np.mean([guess.clean for guess in guesses], axis=0) > 0.5
    if clean.sum() < FEWEST_PIECES:
        return None
    misfits = _misfits(pieces, guesses, clean)
    prior = ((FINE_RATIOS - lumen_ratio) / LUMEN_RATIO_SD) ** 2
    fine = CubicSpline(LUMEN_RATIOS, misfits, axis=1)(FINE_RATIOS) + prior
    weight = np.exp(-0.5 * (fine - fine.min()))
    weight /= weight.sum()
    weights = _piece_weights(pieces, start_radius_px)[clean]
    means = np.array(
        [[_robust_mean(row, weights) for row in guess.radius_px[:, clean]] for guess in guesses]
    )
    radii, spreads = (CubicSpline(LUMEN_RATIOS, means[..., k], axis=1)(FINE_RATIOS) for k in (0, 1))
    radius = float((weight * radii).sum())
    variance = float((weight * ((radii - radius) ** 2 + spreads**2)).sum()) / radius**2
    depth = _depth_sd(pieces.beside_px[clean], start_radius_px)
    far = float((weights * depth).sum() / weights.sum())
    return CatheterWidth(
        radius_px=radius,
        relative_sd=float(np.sqrt(variance + MODEL_RELATIVE_SD**2 + far**2)),
        lumen_ratio=float((weight * FINE_RATIOS).sum()),
        pieces=int(clean.sum()),
    )


def _guess(pieces: Pieces, start_radius_px: float, chain: Chain) -> _Guess:
    """Tubes fitted under one chain, from the narrowest lumen to the widest."""
    start = np.full(len(pieces.walls), start_radius_px)
    near: CylinderFits | None = None
    walls, lumens, radii = [], [], []
    for ratio in LUMEN_RATIOS:
        shape = chain.shape(
            lumen_ratio=float(ratio), background_degree=2, bin_sigma_px=BIN_SIGMA_PX
        )
        near = fit_cylinders(pieces.walls, pieces.across_px, pieces.pixels, shape, start, near=near)
        walls.append(near.cost)
        radii.append(near.radius_px)
        lumens.append(_lumen_cost(pieces, near, chain, float(ratio), start_radius_px))
    assert near is not None
    return _Guess(
        chain=chain,
        wall_costs=np.array(walls),
        lumen_costs=np.array(lumens),
        radius_px=np.array(radii),
        clean=_look_like_a_tube(near, np.mean(radii, axis=0), start_radius_px),
    )


def _lumen_cost(
    pieces: Pieces, walls: CylinderFits, chain: Chain, ratio: float, radius_px: float
) -> Array:
    """What the filled lumen leaves unexplained per piece; NaN in the vein and where none shows."""
    outside = np.flatnonzero(pieces.beside_px > OUTSIDE_RADII * radius_px)
    costs = np.full(len(pieces.walls), np.nan)
    if outside.size:
        cost, opacity = contrast_costs(
            pieces.contrast[outside],
            pieces.across_px[outside],
            pieces.pixels[outside],
            walls.part(outside),
            chain.shape(lumen_ratio=ratio, bin_sigma_px=BIN_SIGMA_PX),
        )
        freedom = np.maximum((pieces.pixels[outside] > 0).sum(1) - 3.0, 1.0)
        seen = opacity**2 * pieces.pixels[outside].mean(1) > CLEAR_LUMEN**2 * cost / freedom
        costs[outside[seen]] = cost[seen]
    return costs


def _misfits(
    pieces: Pieces, guesses: list[_Guess], clean: npt.NDArray[np.bool_]
) -> npt.NDArray[np.float64]:
    """Twice the negative log likelihood of each chain (rows) and lumen (columns)."""
    points = (pieces.pixels > 0).sum(1)
    walls = np.concatenate([guess.wall_costs for guess in guesses])
    lumens = np.concatenate([guess.lumen_costs for guess in guesses])
    shown = clean & np.isfinite(lumens).all(0)
    misfit = _robust_sum(points[clean] * np.log(np.maximum(walls[:, clean], 1e-30)))
    if shown.sum() >= FEWEST_PIECES:
        misfit += _robust_sum(points[shown] * np.log(np.maximum(lumens[:, shown], 1e-30)))
    chains = np.array([-2.0 * np.log(guess.chain.weight) for guess in guesses])
    return np.asarray(TRUST * misfit.reshape(len(guesses), -1) + chains[:, None])


def _robust_sum(log_costs: Array) -> Array:
    """Sum over pieces of the excess over each one's least, the odd ones capped."""
    excess = log_costs - log_costs.min(0)
    cap = 4.0 * np.median(excess, axis=1, keepdims=True) + 4.0
    return np.asarray(np.minimum(excess, cap).sum(1))


def _look_like_a_tube(
    fits: CylinderFits, radius_px: Array, start_radius_px: float
) -> npt.NDArray[np.bool_]:
    opaque = fits.opacity_per_px > 0.3 * np.median(fits.opacity_per_px)
    sized = (radius_px > 0.4 * start_radius_px) & (radius_px < 2.2 * start_radius_px)
    middle = np.median(radius_px)
    near = np.abs(radius_px - middle) < 0.25 * middle
    noise = fits.residual_sd / np.sqrt(np.maximum(fits.pixels, 1.0))
    wall = 2.0 * fits.radius_px * fits.opacity_per_px * (1.0 - float(LUMEN_RATIOS[-1]))
    return np.asarray(opaque & sized & near & (noise < UNCLEAN_PART * wall))


def _depth_sd(beside_px: Array, radius_px: float) -> Array:
    """How far in depth, as part of the scale, a piece may lie from the vein."""
    return np.minimum(DEPTH_PER_RADIUS * beside_px / radius_px, DEPTH_RELATIVE_SD)


def _piece_weights(pieces: Pieces, radius_px: float) -> Array:
    """Weight of each piece: outside the vein it soon lies at another depth, and looks so."""
    depth = _depth_sd(pieces.beside_px, radius_px)
    return np.asarray(1.0 / (PIECE_RELATIVE_SD**2 + depth**2))


def _robust_mean(values: Array, weight: Array) -> tuple[float, float]:
    """Weighted mean with Tukey's biweight about the weighted median, and its standard error."""
    centre = _weighted_median(values, weight)
    for _ in range(5):
        scale = 1.4826 * _weighted_median(np.abs(values - centre), weight) + 3e-3 * centre
        inlier = np.clip(1.0 - ((values - centre) / (4.0 * scale)) ** 2, 0.0, None) ** 2
        total = weight * inlier
        centre = float((total * values).sum() / total.sum())
    variance = float((total * (values - centre) ** 2).sum() / total.sum())
    effective = float(total.sum() ** 2 / (total**2).sum())
    return centre, float(np.sqrt(variance / max(effective - 1.0, 1.0)))


def _weighted_median(values: Array, weight: Array) -> float:
    order = np.argsort(values)
    heap = np.cumsum(weight[order])
    return float(values[order][np.searchsorted(heap, 0.5 * heap[-1])])
