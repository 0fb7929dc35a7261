"""Where the zero of the beam lies in LIN pixels that are stored with an offset.

Unsigned LIN pixels are zero where no photon arrives. Signed ones, or rescaled ones, may have been
shifted. Photons are counted: the variance of a LIN pixel is proportional to the beam, so its
straight line over the stored values meets zero variance where the beam is zero.
"""

import numpy as np
import numpy.typing as npt

from coilwright.venogram.log_pixels import BINS, PAIRS, binned_noise

Float = npt.NDArray[np.float32]

LEAST_CORRELATION = 0.9
# The line may miss a candidate by this part of the picture's own range: detectors add noise of
# their own, which moves the crossing down.
NEAR_ENOUGH = 0.15


def zero_beam_level(values: Float, candidates: tuple[float, ...]) -> float | None:
    """The candidate at which the photon noise vanishes; None where the noise names none.

    Parameters
    ----------
    values : (frames, rows, columns), stored values that rise with intensity
    candidates : levels that could mean "no beam"

    References
    ----------
    Poisson statistics: the variance of a count equals its mean.
    """
    if len(values) < 2:
        return None
    level, variance = binned_noise(values[: PAIRS + 1])
    if len(level) < BINS // 3 or np.ptp(variance) <= 0:
        return None
    slope, at_zero = np.polyfit(level, variance - 1.0 / 6.0, 1)
    if slope <= 0 or float(np.corrcoef(level, variance)[0, 1]) < LEAST_CORRELATION:
        return None
    crossing = float(-at_zero / slope)
    nearest = min(candidates, key=lambda candidate: abs(candidate - crossing))
    return nearest if abs(nearest - crossing) < NEAR_ENOUGH * float(np.ptp(level)) else None
