"""The catheter's width in pixels: blurred tubes fitted along it in the raw, averaged frames."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline

from coilwright.units import fr_to_mm
from coilwright.venogram.blur import Blur, Chain
from coilwright.venogram.blurred_cylinder import Shape
from coilwright.venogram.calibre import CylinderFits, fit_cylinders
from coilwright.venogram.filled_tubes import (
    LUMEN,
    RADIUS,
    WALL,
    TubeFits,
    TubeProfiles,
    fit_tubes,
)
from coilwright.venogram.raw_profiles import BIN_SIGMA_PX

Array = npt.NDArray[np.float64]

LUMEN_RATIOS = np.array([0.36, 0.45, 0.54, 0.62, 0.68, 0.74, 0.80])
FINE_RATIOS = np.linspace(LUMEN_RATIOS[0], LUMEN_RATIOS[-1], 89)
# Labelled lumens are 0.035 to 0.047 in, 0.038 in as a rule for 5 F (CLINICAL.md section 7), and a
# wall is hardly thinner than 0.2 mm (from memory).
USUAL_LUMEN_MM = 1.04
WIDEST_LUMEN_RATIO = 0.70
LUMEN_RATIO_SD = 0.06
# A labelled lumen is what passes at least; the true one may be a little wider (from memory).
LABELLED_RATIO_SD = 0.025
# Bone edges cross the catheter and the chain is not quite what it is taken for: the pieces' word
# counts for this part of what independent noise alone would give it (chosen on rendered runs).
TRUST = 0.15
# What remains of a tube fit when noise is gone, and what the pieces' own scatter is at least.
MODEL_RELATIVE_SD = 0.006
PIECE_RELATIVE_SD = 0.01
FEWEST_PIECES = 3
# Where one fits as well as the other: width lost by width of the lumen's ratio gained.
WIDTH_PER_LUMEN = 0.5
ROBUST_ROUNDS, ODD_SDS = 4, 4.0
# The way from the cava to the vein slopes by half a millimetre a millimetre at most, and ends some
# 20 mm away in depth, at 750 mm from the source (our own estimate, no source).
DEPTH_PER_RADIUS = 0.0006
DEPTH_RELATIVE_SD = 0.025
# Beyond this many radii from the vein's wall what fills is the lumen alone.
OUTSIDE_RADII = 3.0
FIRST_OPACITY = 0.2
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _FirstFits:
    """The pieces' walls alone, what their contrast counts (N,), and where tube fits start from.

    ``values`` has (N, 4) for each of the lumens.
    """

    alone: CylinderFits
    counts: Array
    values: list[Array]


@dataclass(frozen=True, slots=True, kw_only=True)
class ExpectedLumen:
    """Inner over outer diameter as expected before looking, with its standard deviation."""

    ratio: float
    sd: float


def expected_lumen(catheter_fr: float, lumen_mm: float | None = None) -> ExpectedLumen:
    """What is usual for a French size, or what the label says where it is known."""
    if lumen_mm is not None:
        return ExpectedLumen(ratio=lumen_mm / fr_to_mm(catheter_fr), sd=LABELLED_RATIO_SD)
    usual = min(USUAL_LUMEN_MM / fr_to_mm(catheter_fr), WIDEST_LUMEN_RATIO)
    return ExpectedLumen(ratio=usual, sd=LUMEN_RATIO_SD)


def fit_width(
    pieces: Pieces, start_radius_px: float, blur: Blur, lumen: ExpectedLumen
) -> CatheterWidth | None:
    """Width shared by the pieces, or None where too few look like a tube.

    Notes
    -----
    Lumen, blur and width hang together: 0.05 more in the lumen's ratio is 2.5 % less in width. The
    answer is the mean over lumens and the vein's own likely chains, weighted by how well the walls
    fit before contrast and the lumen with it, and the spread is in the uncertainty.
    """
    if len(pieces.walls) < FEWEST_PIECES:
        return None
    first = _first_fits(pieces, start_radius_px, lumen.ratio, blur.chains[0])
    guesses = _guesses(pieces, blur.chains, first)
    typical_px = np.mean([guess.radius_px for guess in guesses], axis=(0, 1))
    clean = _look_like_a_tube(first.alone, typical_px, start_radius_px)
    if clean.sum() < FEWEST_PIECES:
        return None
    misfits = _misfits(pieces, guesses, first.counts, clean)
    prior = ((FINE_RATIOS - lumen.ratio) / lumen.sd) ** 2
    fine = CubicSpline(LUMEN_RATIOS, misfits, axis=1)(FINE_RATIOS) + prior
    weight = np.exp(-0.5 * (fine - fine.min()))
    weight /= weight.sum()
    depth = _depth_variance(pieces.beside_px[clean], start_radius_px)
    means = np.array(
        [[_shared_radius(row, depth) for row in guess.radius_px[:, clean]] for guess in guesses]
    )
    radii, variances = (
        np.array([np.interp(FINE_RATIOS, LUMEN_RATIOS, row) for row in means[..., k]])
        for k in (0, 1)
    )
    radius = float((weight * radii).sum())
    variance = float((weight * (variances + (radii / radius - 1.0) ** 2)).sum())
    return CatheterWidth(
        radius_px=radius,
        relative_sd=float(np.sqrt(variance + MODEL_RELATIVE_SD**2)),
        lumen_ratio=float((weight * FINE_RATIOS).sum()),
        pieces=int(clean.sum()),
    )


def _first_fits(
    pieces: Pieces, start_radius_px: float, lumen_ratio: float, chain: Chain
) -> _FirstFits:
    """The walls alone, then both profiles, under the likeliest chain and the usual lumen."""
    middle = _shape(chain, float(LUMEN_RATIOS[np.abs(LUMEN_RATIOS - lumen_ratio).argmin()]))
    start_px = np.full(len(pieces.walls), start_radius_px)
    alone = fit_cylinders(pieces.walls, pieces.across_px, pieces.pixels, middle, start_px)
    outside = pieces.beside_px > OUTSIDE_RADII * start_radius_px
    density = FIRST_OPACITY / (2.0 * middle.lumen_ratio * alone.radius_px)
    values = np.column_stack([alone.values(), density])
    usual = np.full(len(values), middle.lumen_ratio)
    tubes = fit_tubes(_profiles(pieces), middle, usual, values, outside.astype(np.float64))
    return _FirstFits(
        alone=alone,
        counts=_contrast_counts(tubes, pieces, middle.lumen_ratio, outside),
        values=[_with_lumen(tubes.values, middle.lumen_ratio, ratio) for ratio in LUMEN_RATIOS],
    )


def _guesses(pieces: Pieces, chains: tuple[Chain, ...], first: _FirstFits) -> list[_Guess]:
    """Tubes fitted under each chain, from the narrowest lumen to the widest."""
    count = len(pieces.walls)
    every = np.tile(np.arange(count), len(LUMEN_RATIOS))
    ratios = np.repeat(LUMEN_RATIOS, count)
    profiles, counts = _profiles(pieces).part(every), first.counts[every]
    values = np.concatenate(first.values)
    guesses: list[_Guess] = []
    for chain in chains:
        fits = fit_tubes(profiles, _shape(chain), ratios, values, counts)
        # The likeliest chain comes first, and the others lie about it.
        values = values if guesses else fits.values
        guess = _Guess(
            chain=chain,
            wall_costs=fits.wall_cost.reshape(-1, count),
            lumen_costs=fits.contrast_cost.reshape(-1, count),
            radius_px=fits.radius_px.reshape(-1, count),
        )
        guesses.append(guess)
    return guesses


def _profiles(pieces: Pieces) -> TubeProfiles:
    return TubeProfiles(
        walls=pieces.walls,
        contrast=pieces.contrast,
        across_px=pieces.across_px,
        wall_pixels=pieces.pixels,
        contrast_pixels=pieces.pixels,
    )


def _with_lumen(values: Array, lumen_ratio: float, wanted: float) -> Array:
    """About the same shadows with another lumen: as much wall, and as much to fill the lumen."""
    changed = values.copy()
    changed[:, RADIUS] *= 1.0 - WIDTH_PER_LUMEN * (wanted - lumen_ratio)
    area = (changed[:, RADIUS] / values[:, RADIUS]) ** 2
    changed[:, WALL] *= (1.0 - lumen_ratio**2) / ((1.0 - wanted**2) * area)
    changed[:, LUMEN] *= lumen_ratio**2 / (wanted**2 * area)
    return changed


def _shape(chain: Chain, lumen_ratio: float = 0.0) -> Shape:
    return chain.shape(lumen_ratio=lumen_ratio, background_degree=2, bin_sigma_px=BIN_SIGMA_PX)


def _contrast_counts(
    fits: TubeFits, pieces: Pieces, lumen_ratio: float, outside: npt.NDArray[np.bool_]
) -> Array:
    """What the contrast's squares count beside the wall's; 0 in the vein and where none shows."""
    freedom = np.maximum((pieces.pixels > 0).sum(1) - 5.0, 1.0)
    wall_variance, variance = fits.wall_cost / freedom, fits.contrast_cost / freedom + 1e-30
    opacity = 2.0 * lumen_ratio * fits.radius_px * fits.lumen_per_px
    shows = opacity**2 * pieces.pixels.mean(1) > CLEAR_LUMEN**2 * variance
    return np.where(outside & shows, wall_variance / variance, 0.0)


def _misfits(
    pieces: Pieces, guesses: list[_Guess], counts: Array, clean: npt.NDArray[np.bool_]
) -> npt.NDArray[np.float64]:
    """Twice the negative log likelihood of each chain (rows) and lumen (columns)."""
    points = (pieces.pixels > 0).sum(1)
    walls = np.concatenate([guess.wall_costs for guess in guesses])
    lumens = np.concatenate([guess.lumen_costs for guess in guesses])
    each = points * np.log(np.maximum(walls, 1e-30))
    each += np.where(counts > 0.0, points * np.log(np.maximum(lumens, 1e-30)), 0.0)
    misfit = _robust_sum(each[:, clean])
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


def _depth_variance(beside_px: Array, radius_px: float) -> Array:
    """How far in depth pieces may lie from the vein, as part of the scale, squared: (N, N).

    The catheter wanders away from the vein's depth, so that two pieces share what the nearer one
    has wandered.
    """
    alone = np.minimum(DEPTH_PER_RADIUS * beside_px / radius_px, DEPTH_RELATIVE_SD) ** 2
    return np.asarray(np.minimum(alone[:, None], alone[None, :]))


def _shared_radius(radii: Array, depth: Array) -> tuple[float, float]:
    """The radius at the vein's depth from the pieces' own, and its relative variance.

    Generalised least squares: each piece has noise of its own, as the pieces show, and the depth's
    part, which neighbours share. Odd pieces count less (Tukey's biweight).
    """
    steps = np.abs(np.diff(radii)) / radii[1:]
    noise = max(float(np.median(steps)) / (0.6745 * 2**0.5), PIECE_RELATIVE_SD)
    mean = float(np.median(radii))
    spread = np.sqrt(noise**2 + np.diag(depth))
    for _ in range(ROBUST_ROUNDS):
        odd = np.clip(1.0 - ((radii / mean - 1.0) / (ODD_SDS * spread)) ** 2, 1e-3, None)
        solved = np.linalg.solve(depth + np.diag((noise / odd) ** 2), np.ones(len(radii)))
        variance = 1.0 / float(solved.sum())
        mean = float((solved * radii).sum()) * variance
    return mean, variance
