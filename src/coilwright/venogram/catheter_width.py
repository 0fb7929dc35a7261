"""The catheter's width in pixels: blurred tubes fitted along it in the raw, averaged frames."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.venogram.blur import Blur, Chain
from coilwright.venogram.calibre import CylinderFits, fit_cylinders

Array = npt.NDArray[np.float64]

LUMEN_RATIOS = (0.42, 0.48, 0.52, 0.56, 0.6, 0.64, 0.68, 0.72, 0.76)
# Labelled lumens of 4 to 6 F catheters are 0.035 to 0.047 in (CLINICAL.md section 7: 4 F takes
# 0.035 to 0.038 in, 5 F 0.038 in): inner over outer diameter some 0.55 to 0.72.
LUMEN_RATIO_EXPECTED = 0.62
LUMEN_RATIO_SD = 0.07
# Bone edges cross the catheter and the chain is not quite Gaussian: the pieces' word on the lumen
# counts for this part of what independent noise alone would give it (chosen on rendered runs).
TRUST = 0.05
# What remains of a tube fit when noise is gone.
MODEL_RELATIVE_SD = 0.013
FEWEST_PIECES = 3
# Where hardly a piece lies in the vein itself: the cava's part lies some centimetres away from it.
DEPTH_RELATIVE_SD = 0.04
# A lumen counts as seen from this many standard deviations of its profile, and then to this ratio.
CLEAR_LUMEN = 8.0
SEEN_LUMEN_SD = 0.025
# A profile that leaves more than this part of the wall's absorption unexplained is no catheter.
UNCLEAN_PART = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterWidth:
    """Outer radius in pixels, its relative standard deviation, and the lumen that fitted."""

    radius_px: float
    relative_sd: float
    lumen_ratio: float
    pieces: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Guess:
    """The width under one chain and lumen, with its spread over pieces and its weight."""

    radius_px: float
    spread_px: float
    lumen_ratio: float
    misfit: float
    pieces: int
    in_vein: float
    prior: float


def fit_width(
    pieces: Array,
    across_px: Array,
    preference: Array,
    start_radius_px: float,
    blur: Blur,
    filled: Array | None = None,
) -> CatheterWidth | None:
    """Width shared by the pieces, or None where too few look like a tube.

    Parameters
    ----------
    pieces : (N, M) mean profiles of short pieces of catheter, absorption
    preference : (N,) weight of each piece, larger in or next to the vein
    filled : (N, M) or None, the contrast alone along the same pieces: outside the vein it is the
        filled lumen, whose width settles the ratio; NaN rows where it is not

    Notes
    -----
    Lumen, blur and width hang together: the answer is the mean over lumens and the vein's own
    likely chains, weighted by how well the pieces fit, and its spread is in the uncertainty.
    """
    if len(pieces) < FEWEST_PIECES:
        return None
    fits = {
        (chain, lumen): _fit(pieces, across_px, start_radius_px, chain, lumen)
        for chain in blur.chains
        for lumen in LUMEN_RATIOS
    }
    misfits = _misfits(np.array([fit.cost for fit in fits.values()]), len(across_px))
    lumens = {
        chain: lumen_radii(filled, across_px, start_radius_px, chain) for chain in blur.chains
    }
    misfits = TRUST * misfits + np.array(
        [_lumen_misfit(fit, lumens[chain], lumen) for (chain, lumen), fit in fits.items()]
    )
    guesses = []
    for ((chain, lumen), fit), misfit in zip(fits.items(), misfits, strict=True):
        guess = _guess(fit, preference, start_radius_px, lumen, float(misfit), chain.weight)
        if guess is not None:
            guesses.append(guess)
    return _mean_width(guesses) if guesses else None


def _fit(
    pieces: Array, across_px: Array, start_radius_px: float, chain: Chain, lumen: float
) -> CylinderFits:
    shape = chain.shape(lumen_ratio=lumen, background_degree=2)
    start = np.full(len(pieces), start_radius_px)
    return fit_cylinders(pieces, across_px, np.ones_like(pieces), shape, start)


def lumen_radii(
    filled: Array | None, across_px: Array, start_radius_px: float, chain: Chain
) -> Array | None:
    """Radius of the contrast in the catheter's lumen per piece (N,); NaN where none shows."""
    if filled is None:
        return None
    shown = np.isfinite(filled).all(1)
    if shown.sum() < FEWEST_PIECES:
        return None
    rows = filled[shown]
    start = np.full(len(rows), LUMEN_RATIO_EXPECTED * start_radius_px)
    shape = chain.shape()
    fits = fit_cylinders(rows, across_px, np.ones_like(rows), shape, start)
    clear = (fits.peak_opacity > CLEAR_LUMEN * fits.residual_sd) & (
        np.abs(fits.offset_px) < 0.5 * start_radius_px
    )
    radii = np.full(len(filled), np.nan)
    radii[np.flatnonzero(shown)[clear]] = fits.radius_px[clear]
    return radii if clear.sum() >= FEWEST_PIECES else None


def _lumen_misfit(fit: CylinderFits, lumen_px: Array | None, ratio: float) -> float:
    """How far the seen lumen is from the guessed ratio, in squared standard deviations."""
    if lumen_px is None:
        return 0.0
    seen = lumen_px / fit.radius_px
    seen = seen[np.isfinite(seen) & (seen > 0.3) & (seen < 1.0)]
    if len(seen) < FEWEST_PIECES:
        return 0.0
    spread = 1.4826 * float(np.median(np.abs(seen - np.median(seen)))) / np.sqrt(len(seen))
    return float(((np.median(seen) - ratio) / np.hypot(spread, SEEN_LUMEN_SD)) ** 2)


def _misfits(costs: Array, points: int) -> Array:
    """Twice the negative log likelihood of each guess (rows) over the pieces, odd ones capped."""
    log_cost = points * np.log(np.maximum(costs, 1e-30))
    excess = log_cost - log_cost.min(0)
    cap = 4.0 * np.median(excess, axis=1, keepdims=True) + 4.0
    return np.asarray(np.minimum(excess, cap).sum(1))


def _guess(
    fit: CylinderFits,
    preference: Array,
    start_radius_px: float,
    lumen: float,
    misfit: float,
    prior: float,
) -> _Guess | None:
    kept = _look_like_a_tube(fit, start_radius_px)
    if kept.sum() < FEWEST_PIECES:
        return None
    weight = preference[kept] / np.maximum(fit.radius_sd_px[kept], 0.02) ** 2
    radius, spread = _robust_mean(fit.radius_px[kept], weight)
    return _Guess(
        radius_px=radius,
        spread_px=spread,
        lumen_ratio=lumen,
        misfit=misfit + ((lumen - LUMEN_RATIO_EXPECTED) / LUMEN_RATIO_SD) ** 2,
        pieces=int(kept.sum()),
        in_vein=float(preference[kept].sum()),
        prior=prior,
    )


def _look_like_a_tube(fits: CylinderFits, start_radius_px: float) -> npt.NDArray[np.bool_]:
    opaque = fits.opacity_per_px > 0.3 * np.median(fits.opacity_per_px)
    sized = (fits.radius_px > 0.4 * start_radius_px) & (fits.radius_px < 2.2 * start_radius_px)
    middle = np.median(fits.radius_px)
    near = np.abs(fits.radius_px - middle) < 0.25 * middle
    wall = 2.0 * fits.radius_px * fits.opacity_per_px * (1.0 - LUMEN_RATIO_EXPECTED)
    clean = fits.residual_sd < UNCLEAN_PART * wall
    return np.asarray(opaque & sized & near & clean)


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


def _mean_width(guesses: list[_Guess]) -> CatheterWidth:
    misfit = np.array([guess.misfit for guess in guesses])
    weight = np.array([guess.prior for guess in guesses]) * np.exp(-0.5 * (misfit - misfit.min()))
    weight /= weight.sum()
    radii = np.array([guess.radius_px for guess in guesses])
    radius = float((weight * radii).sum())
    between = float((weight * (radii - radius) ** 2).sum())
    within = float((weight * np.array([guess.spread_px for guess in guesses]) ** 2).sum())
    best = guesses[int(np.argmax(weight))]
    depth = DEPTH_RELATIVE_SD * float(np.exp(-best.in_vein / 2.0))
    relative = float(np.sqrt((between + within) / radius**2 + MODEL_RELATIVE_SD**2 + depth**2))
    return CatheterWidth(
        radius_px=radius,
        relative_sd=relative,
        lumen_ratio=float((weight * np.array([g.lumen_ratio for g in guesses])).sum()),
        pieces=best.pieces,
    )
