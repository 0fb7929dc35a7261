"""The shadow of a round vein or a catheter: a chord of absorber, blurred as intensity.

A ray at distance x from the axis crosses ``2 * sqrt(r**2 - x**2)`` of absorber. The detector and
the focal spot blur what arrives, the intensity, not its logarithm; the logarithm is taken after.
Blurring the chord itself would make a dense catheter come out several per cent too narrow.

    shadow(x) = -ln(1 - (1 - veil) * integral of (1 - exp(-a * chord(y))) * gauss(x - y) dy)

The veil is the share of the arriving intensity that is scatter: it fills every shadow a little.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.special import roots_legendre

Array = npt.NDArray[np.float64]
Float = npt.NDArray[np.float32]

# Steps of a vein's angle and nodes of a tube's for each width of the blur within the radius.
STEPS_PER_SIGMA, FEWEST_STEPS = 2.1, 8
NODES_PER_SIGMA, FEWEST_NODES = 3.2, 5
# The greatest exponent of a Gaussian that is told from the ones beyond: 1e-22 of its middle.
FARTHEST = np.float32(50.0)
ROWS_AT_ONCE = 64
# Light spreads in a detector's scintillator: real blurs have a core and a wider skirt.
TAIL_WIDTH = 2.5  # of the skirt over the core, where nothing else is said


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What is fitted: blur and its tail, veil of scatter, lumen (0 for a vein), background.

    ``sigma_px`` and ``veil`` may be arrays (N,), one value for each profile.
    """

    sigma_px: float | Array
    veil: float | Array = 0.0
    tail: float = 0.0
    tail_width: float = TAIL_WIDTH
    lumen_ratio: float = 0.0
    background_degree: int = 1

    def part(self, index: npt.NDArray[np.intp]) -> "Shape":
        """What is fitted to some of the profiles."""

        def of(value: float | Array) -> float | Array:
            return value[index] if isinstance(value, np.ndarray) else value

        return replace(self, sigma_px=of(self.sigma_px), veil=of(self.veil))


@dataclass(frozen=True, slots=True, kw_only=True)
class Shadow:
    """Absorption and its derivatives, each in the shape of ``x_px``."""

    absorption: Float
    by_x: Float
    by_radius: Float
    by_density: Float


def shadow(
    x_px: Array,
    radius_px: Array,
    density_per_px: Array,
    sigma_px: float | Array,
    *,
    lumen_ratio: float = 0.0,
    veil: float | Array = 0.0,
    tail: float = 0.0,
    tail_width: float = TAIL_WIDTH,
) -> Shadow:
    """Absorption at distance ``x_px`` from the axis of a cylinder or a tube.

    Parameters
    ----------
    x_px : (N, M) distances in pixels
    radius_px : (N,) outer radius, > 0
    density_per_px : (N,) absorption (nepers) of one pixel of absorber, >= 0
    sigma_px : standard deviation of the blur, > 0; of all, or (N,)
    lumen_ratio : inner over outer radius; 0 is a solid cylinder
    veil : share of scatter in the intensity beside the shadow, 0 to below 1; of all, or (N,)
    tail : share of a second Gaussian, ``tail_width`` times as wide, in the blur

    References
    ----------
    Quadrature: Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 25.4.29 and
    25.4.40.

    Examples
    --------
    A thin, sharp shadow is the chord times the density:

    >>> found = shadow(np.array([[0.0, 3.0]]), np.array([5.0]), np.array([1e-6]), 0.2)
    >>> [round(float(v) * 1e6, 1) for v in found.absorption[0]]
    [10.0, 8.0]
    """
    t, weight = nodes(float(np.max(radius_px / sigma_px)), lumen_ratio)
    chord = 2.0 * (np.sqrt(1.0 - t**2) - np.sqrt(np.maximum(lumen_ratio**2 - t**2, 0.0)))
    radius, density = radius_px[:, None], density_per_px[:, None]
    place = radius * t
    chord = radius * chord
    passed = weight * np.exp(-density * chord)
    lost = weight - passed
    moment = radius * lost
    by_own_radius, by_density_sum = lost + density * chord * passed, radius * chord * passed
    moments = [moment, moment * place, moment * place**2]
    sums = np.stack([*moments, by_own_radius, by_density_sum], axis=1)
    shade, by_x, by_radius, by_density = np.zeros((4, *x_px.shape), np.float32)
    sums *= np.reshape(1.0 - np.asarray(veil), (-1, 1, 1))
    x, per_radius = x_px.astype(np.float32), (1.0 / radius).astype(np.float32)
    for share, width_px in gaussians(sigma_px, tail, tail_width):
        blurred = np.moveaxis(seen_blurred(share * sums, place, x_px, width_px), 1, 0)
        total, first, second, own, dense = blurred
        per_square = np.reshape(1.0 / np.asarray(width_px) ** 2, (-1, 1)).astype(np.float32)
        # A Gaussian's slope is itself times the distance, so the moments of what is lost tell it.
        shade += total
        by_x += (first - x * total) * per_square
        by_radius += own + (x * first - second) * (per_square * per_radius)
        by_density += dense
    through = np.maximum(1.0 - shade, np.float32(1e-6))
    return Shadow(
        absorption=-np.log(through),
        by_x=by_x / through,
        by_radius=by_radius / through,
        by_density=by_density / through,
    )


def gaussians(
    sigma_px: float | Array, tail: float, tail_width: float
) -> list[tuple[float, float | Array]]:
    """Share and width of the core of the blur, and of its tail where it has one."""
    core = (1.0 - tail, sigma_px)
    return [core, (tail, tail_width * sigma_px)] if tail > 0.0 else [core]


def seen_blurred(sums: Array, place_px: Array, x_px: Array, width_px: float | Array) -> Float:
    """What lies at the nodes (N, K, T) seen at ``x_px`` (N, M) through a Gaussian: (N, K, M).

    Single precision is enough (7 digits) and twice as fast.
    """
    width = np.reshape(width_px, (-1, 1))
    unit = 1.0 / (np.sqrt(2.0) * width)
    place, x = ((unit * v).astype(np.float32) for v in (place_px, x_px))
    amounts = (sums / (np.sqrt(2.0 * np.pi) * width[..., None])).astype(np.float32)
    found = np.empty((*sums.shape[:2], x.shape[1]), np.float32)
    # A few rows at a time stay in the processor's own memory.
    for first in range(0, len(x), ROWS_AT_ONCE):
        few = slice(first, first + ROWS_AT_ONCE)
        z = place[few, :, None] - x[few, None]
        np.multiply(z, z, out=z)
        # Numbers too small for the format would be slow to work with.
        np.minimum(z, FARTHEST, out=z)
        np.negative(z, out=z)
        np.matmul(amounts[few], np.exp(z, out=z), out=found[few])
    return found


def nodes(radius_over_sigma: float, lumen_ratio: float | Array) -> tuple[Array, Array]:
    """Nodes on (-1, 1) and their weights: (T,) of a solid cylinder, (N, T) of N lumens.

    A chord rises like a square root at every wall; in the angle whose cosine is the place it does
    not, and equal steps of it are exact but for what the density adds (1e-5 of the shadow). A
    lumen's walls are ends of intervals, each with Gauss and Legendre's nodes in its own angle.
    """
    if np.all(lumen_ratio == 0.0):
        count = int(STEPS_PER_SIGMA * radius_over_sigma) + FEWEST_STEPS
        angle = np.arange(1, count + 1) * np.pi / (count + 1)
        return np.cos(angle), np.pi / (count + 1) * np.sin(angle)
    places, weights = [], []
    lumen = np.reshape(lumen_ratio, (-1, 1))
    wall = np.ones_like(lumen)
    for low, high in pairwise([-wall, -lumen, lumen, wall]):
        half = (high - low) / 2.0
        widest = float(half.max()) * radius_over_sigma
        place, weight = _rule(int(NODES_PER_SIGMA * widest) + FEWEST_NODES)
        angle = (place + 1.0) * np.pi / 2.0
        places.append((low + high) / 2.0 + half * np.cos(angle))
        weights.append(half * np.pi / 2.0 * weight * np.sin(angle))
    return np.concatenate(places, axis=1), np.concatenate(weights, axis=1)


@lru_cache(maxsize=256)
def _rule(count: int) -> tuple[Array, Array]:
    """Gauss-Legendre places on (-1, 1) and weights."""
    place, weight = roots_legendre(count)
    return place, weight
