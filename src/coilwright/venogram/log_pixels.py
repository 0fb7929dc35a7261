"""How many stored units of a LOG picture make one neper, read from the photon noise.

A LOG picture stores a + b * ln(intensity) with b unknown. Photons are counted: the variance of
ln(intensity) falls as one over intensity, so the logarithm of the variance falls along the stored
values with slope -1 / b.
"""

import numpy as np
import numpy.typing as npt

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

PAIRS = 4
MOST_ROWS = 256
BINS = 24
FEWEST_PER_BIN = 400
# Below this correlation or span the slope is not the photons' (denoised or lossy pixels).
LEAST_CORRELATION = 0.9
LEAST_SPAN_NEPERS = 0.4


def log_units_per_neper(values: Float) -> float | None:
    """Stored units per neper; None where the noise does not behave like photon noise.

    Parameters
    ----------
    values : (frames, rows, columns), stored values that rise with intensity

    References
    ----------
    Poisson statistics: the variance of a count equals its mean.
    """
    if len(values) < 2:
        return None
    level, variance = binned_noise(values[: PAIRS + 1])
    if len(level) < BINS // 3:
        return None
    # A stored unit's own rounding adds one twelfth twice to a difference of two frames.
    log_variance = np.log(np.maximum(variance - 1.0 / 6.0, 1e-9))
    if np.ptp(log_variance) <= 0:
        return None
    slope, _ = np.polyfit(level, log_variance, 1)
    correlation = float(np.corrcoef(level, log_variance)[0, 1])
    if slope >= 0 or correlation > -LEAST_CORRELATION:
        return None
    return float(-1.0 / slope) if -slope * np.ptp(level) > LEAST_SPAN_NEPERS else None


def binned_noise(values: Float) -> tuple[Array, Array]:
    """Mean level and variance of frame-to-frame differences, over pixels of like level."""
    # Enough pairs for the median of each bin; a large picture has no more than a small one.
    step = max(2, min(values.shape[1:]) // MOST_ROWS)
    first, second = values[:, :-1:step, :-1:step], values[:, 1::step, 1::step]
    where = first.mean(0)
    # Differences of neighbours as well as of frames: what moved slowly falls out.
    detail = np.diff(first - second, axis=0) / np.float32(np.sqrt(2.0))
    edges = np.quantile(where, np.linspace(0.01, 0.99, BINS + 1))
    bin_of = np.digitize(where, edges) - 1
    levels, variances = [], []
    for number in range(BINS):
        inside = bin_of == number
        if inside.sum() < FEWEST_PER_BIN or edges[number + 1] - edges[number] <= 0:
            continue
        spread = float(np.median(np.abs(detail[:, inside]))) / 0.6745
        levels.append(float(where[inside].mean()))
        variances.append(spread**2)
    return np.array(levels), np.array(variances)
