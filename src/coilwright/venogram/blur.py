"""The blur and the veil of the imaging chain, read from the vein's own profiles."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from coilwright.venogram.blurred_cylinder import Shape
from coilwright.venogram.calibre import ITERATIONS, CylinderFits, fit_cylinders

Array = npt.NDArray[np.float64]

COARSE_SIGMAS_PX = (0.4, 0.55, 0.75, 1.0, 1.35, 1.85, 2.5, 3.4)
COARSE_VEILS = (0.06, 0.2, 0.34)
NARROWEST_PX, WIDEST_PX, LEAST_VEIL, MOST_VEIL = 0.3, 5.0, 0.0, 0.6
# Tails: share, width over the core's, and what the core that goes with it is narrower by, since a
# tail takes over part of the width.
TAILS = ((0.0, 1.0, 0.0), (0.12, 2.5, 0.1), (0.25, 2.5, 0.2), (0.3, 4.0, 0.24))
# Steps of the search, in the core's logarithm and in the veil.
SEARCH_STEP = np.array([0.06, 0.06])
SEARCH_ROUNDS = 4
STEP_PARTS = (1.0, 0.4, 0.15)
LEAST_GAIN = 0.3
# As if the core were known to a tenth at the least, and the veil as its own expectation says.
LEAST_CURVATURE = 200.0
# Scatter after the grid is some fifth of what arrives (common practice, no source); the profiles
# themselves move it from there as far as they can tell.
VEIL_EXPECTED = 0.2
VEIL_SD = 0.1
# A vein is not quite round and a chain not quite Gaussian: the profiles' word counts for this part
# of what independent noise alone would give it (chosen on rendered runs).
TRUST = 0.1
# Tails less likely than this part of the likeliest are left out.
LEAST_WEIGHT = 0.05
MOST_CHAINS = 9
MOST_PROFILES = 20
COARSE_PROFILES = 6
# A profile that leaves this many times more unexplained than most is not one of a vein alone.
ODD_PROFILE = 3.0
WARM_ROUNDS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """One possible imaging chain, and how likely it is among its alternatives."""

    sigma_px: float
    veil: float
    tail: float
    tail_width: float
    weight: float

    def shape(
        self, *, lumen_ratio: float = 0.0, background_degree: int = 1, bin_sigma_px: float = 0.0
    ) -> Shape:
        """What is fitted under this chain, to values that are means over bins of that spread."""
        return Shape(
            sigma_px=float(np.hypot(self.sigma_px, bin_sigma_px)),
            veil=self.veil,
            tail=self.tail,
            tail_width=self.tail_width,
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
    only = Chain(sigma_px=sigma_px, veil=veil, tail=0.0, tail_width=1.0, weight=1.0)
    return Blur(sigma_px=sigma_px, veil=veil, tail=0.0, chains=(only,))


def unknown_blur() -> Blur:
    """Any blur that the picture's edges could have, where the vein is too short to show its own."""
    sigmas = (0.6, 0.8, 1.0, 1.25, 1.55)
    weight = 1 / len(sigmas)
    chains = tuple(
        Chain(sigma_px=sigma, veil=VEIL_EXPECTED, tail=0.0, tail_width=1.0, weight=weight)
        for sigma in sigmas
    )
    return Blur(sigma_px=1.0, veil=VEIL_EXPECTED, tail=0.0, chains=chains)


def estimate_blur(
    profiles: Array,
    across_px: Array,
    weights: Array,
    radius_px: Array,
    bin_sigma_px: float = 0.0,
) -> Blur:
    """The blur and veil under which cylinders fit best, shared by all profiles.

    Parameters
    ----------
    profiles, weights : (N, M); across_px : (M,) or (N, M); radius_px : (N,) start values
    bin_sigma_px : spread of the bins that the values are means over; it is no part of the answer

    Notes
    -----
    Each profile brings its own noise, so its part of the log likelihood is that of its sum of
    squares. For each tail the core and the veil are sought that fit best; the spread about them
    is that of the parabola through the likelihood (Laplace's approximation).
    """
    across = np.broadcast_to(across_px, profiles.shape)
    few = slice(None, None, max(1, round(len(profiles) / MOST_PROFILES)))
    sight = _Sight(profiles[few], across[few], weights[few], radius_px[few], bin_sigma_px)
    place, sight = _coarse(sight)
    found: list[_Found] = []
    for tail in TAILS:
        start = place + np.array([np.log1p(-tail[2]), 0.0])
        found.append(_best_core_and_veil(sight, start, tail))
        if len(found) == 1:
            place = found[0].place
    evidence = np.array([fit.log_evidence for fit in found])
    weight = np.exp(evidence - evidence.max())
    return _summary(found, np.where(weight > LEAST_WEIGHT, weight, 0.0))


Tail = tuple[float, float, float]


@dataclass(slots=True)
class _Sight:
    """The profiles, and their fits under the first shape of the last try, to start from."""

    profiles: Array
    across_px: Array
    weights: Array
    radius_px: Array
    bin_sigma_px: float
    near: CylinderFits | None = None

    def costs(self, places: Array, tail: Tail) -> Array:
        """Sum of squares (P, N) of each profile at (P, 2) places: log of the core, and veil."""
        count = len(self.profiles)
        every = np.tile(np.arange(count), len(places))
        shape = Shape(
            sigma_px=np.repeat(np.hypot(np.exp(places[:, 0]), self.bin_sigma_px), count),
            veil=np.repeat(places[:, 1], count),
            tail=tail[0],
            tail_width=tail[1],
        )
        fits = fit_cylinders(
            self.profiles[every],
            self.across_px[every],
            self.weights[every],
            shape,
            self.radius_px[every],
            near=None if self.near is None else self.near.part(every),
            rounds=ITERATIONS if self.near is None else WARM_ROUNDS,
        )
        self.near = fits.part(np.arange(count))
        return np.maximum(fits.cost, 1e-30).reshape(len(places), count)

    def misfits(self, places: Array, tail: Tail) -> Array:
        """Twice the negative log likelihood (P,), with the veil's own expectation."""
        points = (self.weights > 0).sum(1)
        likelihood = (points * np.log(self.costs(places, tail))).sum(1)
        expected = ((places[:, 1] - VEIL_EXPECTED) / VEIL_SD) ** 2
        return np.asarray(TRUST * likelihood + expected)

    def part(self, index: npt.NDArray[np.intp]) -> "_Sight":
        """Some of the profiles."""
        return _Sight(
            self.profiles[index],
            self.across_px[index],
            self.weights[index],
            self.radius_px[index],
            self.bin_sigma_px,
        )


def _coarse(sight: _Sight) -> tuple[Array, _Sight]:
    """Where on a coarse grid a few profiles fit best; and the profiles that look like a vein's."""
    count = len(sight.profiles)
    few = sight.part(np.unique(np.linspace(0, count - 1, COARSE_PROFILES).astype(np.intp)))
    grid = np.array([(np.log(s), v) for v in COARSE_VEILS for s in COARSE_SIGMAS_PX])
    best = grid[int(np.argmin(few.misfits(grid, TAILS[0])))]
    left = sight.costs(best[None], TAILS[0])[0] / np.maximum((sight.weights > 0).sum(1), 1)
    kept = np.flatnonzero(left <= ODD_PROFILE * np.median(left))
    return best, sight.part(kept)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """Core and veil under one tail, with their covariance."""

    tail: Tail
    place: Array
    covariance: Array
    log_evidence: float


def _best_core_and_veil(sight: _Sight, start: Array, tail: Tail) -> _Found:
    """Newton's steps on a parabola through six tries, the best of three lengths each."""
    place, step = _bounded(start), SEARCH_STEP
    for _ in range(SEARCH_ROUNDS):
        least, slope, curvature = _parabola(sight, place, tail, step)
        values, axes = np.linalg.eigh(curvature)
        curvature = (axes * np.maximum(values, LEAST_CURVATURE)) @ axes.T
        move = np.clip(-np.linalg.solve(curvature, slope), -4.0 * step, 4.0 * step)
        wanted = np.array([_bounded(place + part * move) for part in STEP_PARTS])
        there = sight.misfits(wanted, tail)
        best = int(np.argmin(there))
        gain = least - float(there[best])
        if gain > 0.0:
            place, least = wanted[best], float(there[best])
        if gain < LEAST_GAIN:
            break
    covariance = np.asarray(2.0 * np.linalg.inv(curvature), dtype=np.float64)
    evidence = -0.5 * least + 0.5 * float(np.log(np.linalg.det(covariance)))
    return _Found(tail=tail, place=place, covariance=covariance, log_evidence=evidence)


def _bounded(place: Array) -> Array:
    core = np.clip(place[0], np.log(NARROWEST_PX), np.log(WIDEST_PX))
    return np.array([core, np.clip(place[1], LEAST_VEIL, MOST_VEIL)])


def _parabola(sight: _Sight, place: Array, tail: Tail, step: Array) -> tuple[float, Array, Array]:
    """Value, slope (2,) and curvature (2, 2) of the misfit about a place."""
    one, two = np.diag(step)
    tries = place + np.array([0 * one, one, -one, two, -two, one + two])
    here, right, left, up, down, corner = (float(v) for v in sight.misfits(tries, tail))
    slope = np.array([right - left, up - down]) / (2.0 * step)
    along = np.array([right + left, up + down]) / step**2 - 2.0 * here / step**2
    cross = (corner - right - up + here) / (step[0] * step[1])
    return here, slope, np.array([[along[0], cross], [cross, along[1]]])


def _summary(found: list[_Found], weight: Array) -> Blur:
    """The likely chains, most likely first: under each tail the middle, and two on each axis.

    The five stand for the spread: the two axes' ends at the square root of three standard
    deviations carry a sixth each, the middle a third (Julier and Uhlmann's unscented transform).
    """
    chains = []
    for fit, part in zip(found, weight / weight.sum(), strict=True):
        if part == 0.0:
            continue
        values, axes = np.linalg.eigh(fit.covariance)
        spokes = (axes * np.sqrt(3.0 * values)).T
        for move, share in ((0.0 * spokes[0], 1 / 3), *((s, 1 / 6) for s in (*spokes, *-spokes))):
            core, veil = _bounded(fit.place + move)
            chains.append(
                Chain(
                    sigma_px=float(np.exp(core)),
                    veil=float(veil),
                    tail=fit.tail[0],
                    tail_width=fit.tail[1],
                    weight=float(part * share),
                )
            )
    chains = sorted(chains, key=lambda chain: -chain.weight)[:MOST_CHAINS]
    total = sum(chain.weight for chain in chains)
    chains = [replace(chain, weight=chain.weight / total) for chain in chains]
    best = chains[0]
    return Blur(sigma_px=best.sigma_px, veil=best.veil, tail=best.tail, chains=tuple(chains))
