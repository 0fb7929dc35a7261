"""The shadow of a round vein or a catheter: a chord of absorber, blurred as intensity.

A ray at distance x from the axis crosses ``2 * sqrt(r**2 - x**2)`` of absorber. The detector and
the focal spot blur what arrives, the intensity, not its logarithm; the logarithm is taken after.
Blurring the chord itself would make a dense catheter come out several per cent too narrow.

    shadow(x) = -ln(1 - (1 - veil) * integral of (1 - exp(-a * chord(y))) * gauss(x - y) dy)

The veil is the share of the arriving intensity that is scatter: it fills every shadow a little.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]

# Nodes per blur width, and the bounds within which they are counted.
NODES_PER_SIGMA = 2.7
# Light spreads in a detector's scintillator: real blurs have a core and a wider skirt.
TAIL_WIDTH = 2.5  # of the skirt over the core, where nothing else is said
FEWEST_NODES, MOST_NODES = 10, 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What is fitted: blur and its tail, veil of scatter, lumen (0 for a vein), background."""

    sigma_px: float
    veil: float = 0.0
    tail: float = 0.0
    tail_width: float = TAIL_WIDTH
    lumen_ratio: float = 0.0
    background_degree: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Shadow:
    """Absorption and its derivatives, each in the shape of ``x_px``."""

    absorption: Array
    by_x: Array
    by_radius: Array
    by_density: Array


def shadow(
    x_px: Array,
    radius_px: Array,
    density_per_px: Array,
    sigma_px: float,
    *,
    lumen_ratio: float = 0.0,
    veil: float = 0.0,
    tail: float = 0.0,
    tail_width: float = TAIL_WIDTH,
) -> Shadow:
    """Absorption at distance ``x_px`` from the axis of a cylinder or a tube.

    Parameters
    ----------
    x_px : (N, M) distances in pixels
    radius_px : (N,) outer radius, > 0
    density_per_px : (N,) absorption (nepers) of one pixel of absorber, >= 0
    sigma_px : standard deviation of the blur, > 0
    lumen_ratio : inner over outer radius; 0 is a solid cylinder
    veil : share of scatter in the intensity beside the shadow, 0 to below 1
    tail : share of a second Gaussian, ``tail_width`` times as wide, in the blur

    References
    ----------
    Quadrature: Abramowitz and Stegun, Handbook of Mathematical Functions (1964), 25.4.29.

    Examples
    --------
    A thin, sharp shadow is the chord times the density:

    >>> found = shadow(np.array([[0.0, 3.0]]), np.array([5.0]), np.array([1e-6]), 0.2)
    >>> [round(float(v) * 1e6, 1) for v in found.absorption[0]]
    [10.0, 8.0]
    """
    t, weight = _nodes(float(np.max(radius_px)) / sigma_px, lumen_ratio)
    chord = 2.0 * (np.sqrt(1.0 - t**2) - np.sqrt(np.maximum(lumen_ratio**2 - t**2, 0.0)))
    radius, density = radius_px[:, None], density_per_px[:, None]
    passed = np.exp(-density * radius * chord)
    lost = weight * (1.0 - passed)
    # Single precision is enough for the kernel (7 digits) and twice as fast.
    z = ((x_px[:, :, None] - (radius * t)[:, None, :]) / sigma_px).astype(np.float32)
    kernel, slope = _kernel_and_slope(z, sigma_px, tail, tail_width)
    kernel *= np.float32(1.0 - veil)
    slope *= np.float32(1.0 - veil)

    def summed(values: npt.NDArray[np.float32], *node_weights: Array) -> tuple[Array, ...]:
        together = np.stack(np.broadcast_arrays(*node_weights), axis=-1).astype(np.float32)
        found = (values @ together).astype(np.float64)
        return tuple(found[..., k] for k in range(found.shape[-1]))

    own = lost + weight * radius * density * chord * passed
    shade, by_own, by_density = summed(
        kernel, radius * lost, own, weight * radius**2 * chord * passed
    )
    by_x, by_moved = summed(slope, radius * lost, radius * t * lost)
    by_radius = by_own - by_moved
    through = 1.0 - shade
    through = np.maximum(through, 1e-6)
    return Shadow(
        absorption=-np.log(through),
        by_x=by_x / through,
        by_radius=by_radius / through,
        by_density=by_density / through,
    )


def filled_tube(
    x_px: Array, radius_px: Array, wall_per_px: Array, lumen_per_px: Array, shape: Shape
) -> tuple[Array, Array]:
    """Absorption (N, M) of a tube with something in its lumen, and its slope by ``lumen_per_px``.

    Parameters
    ----------
    x_px : (N, M) distances from the axis
    radius_px, wall_per_px, lumen_per_px : (N,) outer radius, absorption of a pixel of each
    """
    t, weight = _nodes(float(np.max(radius_px)) / shape.sigma_px, shape.lumen_ratio)
    inner = 2.0 * np.sqrt(np.maximum(shape.lumen_ratio**2 - t**2, 0.0))
    outer = 2.0 * np.sqrt(1.0 - t**2) - inner
    radius = radius_px[:, None]
    passed = np.exp(-radius * (wall_per_px[:, None] * outer + lumen_per_px[:, None] * inner))
    z = ((x_px[:, :, None] - (radius * t)[:, None, :]) / shape.sigma_px).astype(np.float32)
    kernel, _ = _kernel_and_slope(z, shape.sigma_px, shape.tail, shape.tail_width)
    sums = np.stack([radius * weight * (1.0 - passed), radius**2 * weight * inner * passed], -1)
    shade, slope = np.moveaxis(kernel @ sums.astype(np.float32), -1, 0).astype(np.float64)
    through = np.maximum(1.0 - (1.0 - shape.veil) * shade, 1e-6)
    return -np.log(through), (1.0 - shape.veil) * slope / through


def _kernel_and_slope(
    z: npt.NDArray[np.float32], sigma_px: float, tail: float, tail_width: float
) -> tuple[npt.NDArray[np.float32], npt.NDArray[np.float32]]:
    """The blur at ``z`` standard deviations of its core, and its slope per pixel."""
    core = np.exp(-0.5 * z * z) * np.float32((1.0 - tail) / (np.sqrt(2.0 * np.pi) * sigma_px))
    slope = z * core * np.float32(-1.0 / sigma_px)
    if tail <= 0.0:
        return core, slope
    wide = z / np.float32(tail_width)
    width = tail_width * sigma_px
    skirt = np.exp(-0.5 * wide * wide) * np.float32(tail / (np.sqrt(2.0 * np.pi) * width))
    return core + skirt, slope + wide * skirt * np.float32(-1.0 / width)


@lru_cache(maxsize=256)
def _rule(count: int) -> tuple[Array, Array]:
    """Gauss-Legendre places on (-1, 1) and weights."""
    place, weight = np.polynomial.legendre.leggauss(count)
    return place, weight


def _nodes(radius_over_sigma: float, lumen_ratio: float) -> tuple[Array, Array]:
    """Nodes on (-1, 1) and their weights, the walls of the lumen being ends of intervals.

    A chord rises like a square root at every wall; in the angle whose cosine is the place it does
    not, so that Gauss-Legendre nodes in that angle keep the sum exact.
    """
    walls = [-1.0, -lumen_ratio, lumen_ratio, 1.0] if lumen_ratio > 0.0 else [-1.0, 1.0]
    places, weights = [], []
    for low, high in pairwise(walls):
        half = (high - low) / 2.0
        wanted = NODES_PER_SIGMA * half * radius_over_sigma + FEWEST_NODES
        place, weight = _rule(int(min(wanted, MOST_NODES)))
        angle = (place + 1.0) * np.pi / 2.0
        places.append((low + high) / 2.0 + half * np.cos(angle))
        weights.append(half * np.pi / 2.0 * weight * np.sin(angle))
    return np.concatenate(places), np.concatenate(weights)
