"""The blur and the veil of the imaging chain, read from the vein's own profiles."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.venogram.calibre import Shape, fit_cylinders

Array = npt.NDArray[np.float64]

COARSE_SIGMAS_PX = (0.4, 0.6, 0.8, 1.0, 1.25, 1.55, 1.95, 2.45, 3.1)
COARSE_VEIL = 0.2
FINE_SIGMA_STEPS = (-0.16, -0.08, -0.04, 0.0, 0.04, 0.08, 0.16)
VEILS = (0.0, 0.08, 0.16, 0.24, 0.32, 0.42)
# Scatter after the grid is some fifth of what arrives (common practice, no source); the profiles
# themselves move it from there as far as they can tell.
VEIL_EXPECTED = 0.2
VEIL_SD = 0.1
# A vein is not quite round and a chain not quite Gaussian: the profiles' word counts for this part
# of what independent noise alone would give it (chosen on rendered runs).
TRUST = 0.1
LEAST_WEIGHT = 0.03
COARSE_PROFILES = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """One possible imaging chain, and how likely it is among its alternatives."""

    sigma_px: float
    veil: float
    weight: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Blur:
    """Blur in pixels (pixel aperture included) and veil of scatter: the mean of ``chains``."""

    sigma_px: float
    veil: float
    chains: tuple[Chain, ...]


def certain_blur(sigma_px: float, veil: float) -> Blur:
    """A blur without alternatives."""
    only = Chain(sigma_px=sigma_px, veil=veil, weight=1.0)
    return Blur(sigma_px=sigma_px, veil=veil, chains=(only,))


def unknown_blur() -> Blur:
    """Any blur that the picture's edges could have, where the vein is too short to show its own."""
    sigmas = (0.6, 0.8, 1.0, 1.25, 1.55)
    chains = tuple(Chain(sigma_px=s, veil=VEIL_EXPECTED, weight=1 / len(sigmas)) for s in sigmas)
    return Blur(sigma_px=1.0, veil=VEIL_EXPECTED, chains=chains)


def estimate_blur(profiles: Array, across_px: Array, weights: Array, radius_px: Array) -> Blur:
    """The blur and veil under which cylinders fit best, shared by all profiles.

    Parameters
    ----------
    profiles, weights : (N, M); radius_px : (N,) start values

    Notes
    -----
    Each profile brings its own noise, so its part of the log likelihood is that of its sum of
    squares. The answer is the mean over a grid, weighted by likelihood and expected veil.
    """
    few = slice(None, None, max(1, len(profiles) // COARSE_PROFILES))
    part = profiles[few], across_px, weights[few], radius_px[few]
    coarse = [_excess(*part, sigma, COARSE_VEIL) for sigma in COARSE_SIGMAS_PX]
    start = COARSE_SIGMAS_PX[int(np.argmin(_robust_sum(np.array(coarse))))]
    start = _parabola_step(start, _robust_sum(np.array(coarse)))
    grid = [(start * (1.0 + step), veil) for veil in VEILS for step in FINE_SIGMA_STEPS]
    log_costs = np.array(
        [_excess(profiles, across_px, weights, radius_px, sigma, veil) for sigma, veil in grid]
    )
    veil_misfit = np.array([((veil - VEIL_EXPECTED) / VEIL_SD) ** 2 for _, veil in grid])
    misfit = TRUST * _robust_sum(log_costs) + veil_misfit
    weight = np.exp(-0.5 * (misfit - misfit.min()))
    return _summary(grid, weight / weight.sum())


def _excess(
    profiles: Array,
    across_px: Array,
    weights: Array,
    radius_px: Array,
    sigma_px: float,
    veil: float,
) -> Array:
    """Twice the negative log likelihood of each profile, up to a constant of its own."""
    shape = Shape(sigma_px=sigma_px, veil=veil)
    cost = fit_cylinders(profiles, across_px, weights, shape, radius_px).cost
    return np.asarray((weights > 0).sum(1) * np.log(np.maximum(cost, 1e-30)))


def _robust_sum(log_costs: Array) -> Array:
    """Sum over profiles (last axis) of the excess over each one's least, the odd ones capped."""
    excess = log_costs - log_costs.min(0)
    cap = 4.0 * np.median(excess, axis=1, keepdims=True) + 4.0
    return np.asarray(np.minimum(excess, cap).sum(1))


def _parabola_step(start: float, misfit: Array) -> float:
    best = int(np.argmin(misfit))
    if best in (0, len(misfit) - 1):
        return start
    x = np.log(np.array(COARSE_SIGMAS_PX[best - 1 : best + 2]) / start)
    a, b, _ = np.polyfit(x, misfit[best - 1 : best + 2], 2)
    return float(start * np.exp(np.clip(-b / (2 * a), x[0], x[-1]))) if a > 0 else start


def _summary(grid: list[tuple[float, float]], weight: Array) -> Blur:
    likely = [(s, v, float(w)) for (s, v), w in zip(grid, weight, strict=True) if w > LEAST_WEIGHT]
    total = sum(w for _, _, w in likely)
    chains = tuple(Chain(sigma_px=s, veil=v, weight=w / total) for s, v, w in likely)
    return Blur(
        sigma_px=sum(c.weight * c.sigma_px for c in chains),
        veil=sum(c.weight * c.veil for c in chains),
        chains=chains,
    )
