"""A value against a cut-off, so that a rounding of the last binary digit never decides."""

import math

_SAME_RELATIVE = 1e-9


def above(value: float, cut_off: float) -> bool:
    """Whether a value is greater than a cut-off; one that reads the same is not.

    Examples
    --------
    >>> above(4.4 - 2.4, 2.0), 4.4 - 2.4 > 2.0
    (False, True)
    """
    return value > cut_off and not math.isclose(value, cut_off, rel_tol=_SAME_RELATIVE)


def at_least(value: float, cut_off: float) -> bool:
    """Whether a value reaches a cut-off; one that reads the same does.

    Examples
    --------
    >>> at_least(0.1 + 0.2, 0.3), at_least(2.9, 3.0)
    (True, False)
    """
    return value >= cut_off or math.isclose(value, cut_off, rel_tol=_SAME_RELATIVE)
