"""A per cent as a number of people, and the interval that goes with a share that was counted."""

import math
from statistics import NormalDist

# Below this, "of 100" would leave one figure or none: the count is of 1000 (a habit of wording).
COARSE_FROM_PERCENT = 2.0
# Above this, "of 100" would round to everybody.
COARSE_TO_PERCENT = 99.4


def per_how_many(percent: float) -> int:
    """100, or 1000 where hundredths are too coarse.

    Examples
    --------
    >>> per_how_many(9.1), per_how_many(1.78)
    (100, 1000)
    """
    return 100 if COARSE_FROM_PERCENT <= percent <= COARSE_TO_PERCENT else 1000


def out_of(percent: float, whole: int) -> int:
    """How many of ``whole``, halves rounded up.

    Examples
    --------
    >>> out_of(3.5, 100), out_of(1.78, 1000)
    (4, 18)
    """
    return math.floor(percent * whole / 100.0 + 0.5)


def natural_frequency(percent: float, whom: str = "men") -> str:
    """A per cent as a count of people.

    Examples
    --------
    >>> natural_frequency(9.1)
    '9 of 100 men'
    >>> natural_frequency(1.78)
    '18 of 1000 men'
    """
    whole = per_how_many(percent)
    return f"{out_of(percent, whole)} of {whole} {whom}"


def wilson_interval_percent(events: int, of: int, level: float = 0.95) -> tuple[float, float]:
    """Wilson's score interval of a share, in per cent, without continuity correction.

    Raises
    ------
    ValueError
        Nothing was counted, or more events than were counted.

    References
    ----------
    Newcombe RG, Stat Med 1998;17:857-872, method 3.

    Examples
    --------
    >>> [round(bound, 2) for bound in wilson_interval_percent(83, 85)]
    [91.82, 99.35]
    """
    if not 0 <= events <= of or of == 0:
        raise ValueError(f"{events} events of {of} is no share")
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    share = events / of
    centre = share + z * z / (2 * of)
    half = z * math.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    scale = 100.0 / (1 + z * z / of)
    return max(0.0, (centre - half) * scale), min(100.0, (centre + half) * scale)
