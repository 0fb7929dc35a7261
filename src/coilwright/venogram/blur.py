"""The blur and the veil of the imaging chain, read from the vein's own profiles."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.venogram.calibre import Shape, fit_cylinders

Array = npt.NDArray[np.float64]

COARSE_SIGMAS_PX = (0.4, 0.6, 0.8, 1.0, 1.25, 1.55, 1.95, 2.45, 3.1)
COARSE_VEIL = 0.2
FINE_SIGMA_STEPS = (-0.14, -0.07, 0.0, 0.07, 0.14)
VEILS = (0.02, 0.1, 0.18, 0.26, 0.36)
TAILS = (0.0, 0.12, 0.25)
# A tail takes over part of the width: the core that goes with it is narrower by this part of it.
CORE_BY_TAIL = 0.8
# Scatter after the grid is some fifth of what arrives (common practice, no source); the profiles
# themselves move it from there as far as they can tell.
VEIL_EXPECTED = 0.2
VEIL_SD = 0.1
# A vein is not quite round and a chain not quite Gaussian: the profiles' word counts for this part
# of what independent noise alone would give it (chosen on rendered runs).
TRUST = 0.1
# Chains less likely than this part of the likeliest are left out, and all beyond this number.
LEAST_WEIGHT = 0.1
MOST_CHAINS = 8
COARSE_PROFILES = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """One possible imaging chain, and how likely it is among its alternatives."""

    sigma_px: float
    veil: float
    tail: float
    weight: float

    def shape(self, *, lumen_ratio: float = 0.0, background_degree: int = 1) -> Shape:
        """What is fitted under this chain."""
        return Shape(
            sigma_px=self.sigma_px,
            veil=self.veil,
            tail=self.tail,
            lumen_ratio=lumen_ratio,
            background_degree=background_degree,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Blur:
    """Core of the blur in pixels (pixel aperture included), its tail, and the veil of scatter.

    Those of the likeliest of ``chains``.
    """

    sigma_px: float
    veil: float
    tail: float
    chains: tuple[Chain, ...]


def certain_blur(sigma_px: float, veil: float) -> Blur:
    """A blur without alternatives."""
    only = Chain(sigma_px=sigma_px, veil=veil, tail=0.0, weight=1.0)
    return Blur(sigma_px=sigma_px, veil=veil, tail=0.0, chains=(only,))


def unknown_blur() -> Blur:
    """Any blur that the picture's edges could have, where the vein is too short to show its own."""
    sigmas = (0.6, 0.8, 1.0, 1.25, 1.55)
    weight = 1 / len(sigmas)
    chains = tuple(
        Chain(sigma_px=sigma, veil=VEIL_EXPECTED, tail=0.0, weight=weight) for sigma in sigmas
    )
    return Blur(sigma_px=1.0, veil=VEIL_EXPECTED, tail=0.0, chains=chains)


def estimate_blur(profiles: Array, across_px: Array, weights: Array, radius_px: Array) -> Blur:
    """The blur and veil under which cylinders fit best, shared by all profiles.

    Parameters
    ----------
    profiles, weights : (N, M); radius_px : (N,) start values

    Notes
    -----
    Each profile brings its own noise, so its part of the log likelihood is that of its sum of
    squares; a grid of blurs, tails and veils is weighed by likelihood and expected veil.
    """
    few = slice(None, None, max(1, len(profiles) // COARSE_PROFILES))
    part = profiles[few], across_px, weights[few], radius_px[few]
    coarse = np.array(
        [_excess(*part, Shape(sigma_px=s, veil=COARSE_VEIL)) for s in COARSE_SIGMAS_PX]
    )
    total = _robust_sum(coarse)
    start = _parabola_step(COARSE_SIGMAS_PX[int(np.argmin(total))], total)
    grid = [
        Shape(sigma_px=start * (1.0 - CORE_BY_TAIL * tail) * (1.0 + step), veil=veil, tail=tail)
        for tail in TAILS
        for veil in VEILS
        for step in FINE_SIGMA_STEPS
    ]
    log_costs = np.array([_excess(profiles, across_px, weights, radius_px, s) for s in grid])
    veil_misfit = np.array([((shape.veil - VEIL_EXPECTED) / VEIL_SD) ** 2 for shape in grid])
    misfit = TRUST * _robust_sum(log_costs) + veil_misfit
    weight = np.exp(-0.5 * (misfit - misfit.min()))
    return _summary(grid, weight / weight.sum())


def _excess(
    profiles: Array, across_px: Array, weights: Array, radius_px: Array, shape: Shape
) -> Array:
    """Twice the negative log likelihood of each profile, up to a constant of its own."""
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


def _summary(grid: list[Shape], weight: Array) -> Blur:
    """The likely chains, most likely first, at most MOST_CHAINS of them."""
    order = np.argsort(-weight)[:MOST_CHAINS]
    kept = [index for index in order if weight[index] > LEAST_WEIGHT * weight[order[0]]]
    total = float(weight[kept].sum())
    chains = tuple(
        Chain(
            sigma_px=grid[index].sigma_px,
            veil=grid[index].veil,
            tail=grid[index].tail,
            weight=float(weight[index]) / total,
        )
        for index in kept
    )
    best = chains[0]
    return Blur(sigma_px=best.sigma_px, veil=best.veil, tail=best.tail, chains=chains)
