"""How likely a coil is narrower than the vein, or so wide in it that it stretches out."""

import math


def probability_undersized(*, coil_mm: float, relaxed_mm: float, sd_mm: float) -> float:
    """Probability that the relaxed vein is wider than the coil's nominal diameter.

    The relaxed calibre is taken as normal with mean ``relaxed_mm`` and standard deviation
    ``sd_mm``, cut off at zero (no vein has a negative calibre) and made to sum to one again.
    With ``sd_mm`` 0 the answer is 0 or 1.

    Raises
    ------
    ValueError
        A diameter that is not positive, or a negative standard deviation.

    Examples
    --------
    >>> round(probability_undersized(coil_mm=7.2816, relaxed_mm=6.0, sd_mm=1.0), 3)
    0.1
    """
    _check(coil_mm, relaxed_mm, sd_mm)
    if sd_mm == 0:
        return float(relaxed_mm > coil_mm)
    return _upper_tail((coil_mm - relaxed_mm) / sd_mm) / _upper_tail(-relaxed_mm / sd_mm)


def probability_narrower(*, than_mm: float, relaxed_mm: float, sd_mm: float) -> float:
    """Probability that the relaxed vein is narrower than a diameter; same distribution."""
    if than_mm <= 0:
        return 0.0
    wider = probability_undersized(coil_mm=than_mm, relaxed_mm=relaxed_mm, sd_mm=sd_mm)
    return float(relaxed_mm < than_mm) if sd_mm == 0 else 1.0 - wider


def _upper_tail(z: float) -> float:
    """1 - Phi(z), exact in the far tail too."""
    return 0.5 * math.erfc(z / math.sqrt(2.0))


def _check(coil_mm: float, relaxed_mm: float, sd_mm: float) -> None:
    if not (coil_mm > 0 and relaxed_mm > 0):
        raise ValueError(f"diameters must be positive, got {coil_mm} and {relaxed_mm}")
    if not sd_mm >= 0:
        raise ValueError(f"a standard deviation cannot be negative, got {sd_mm}")
