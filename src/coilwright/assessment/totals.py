"""A running total beside its ceiling."""

from coilwright.advice import Urgency
from coilwright.assessment.cut_offs import above, at_least
from coilwright.protocol import Protocol


def total_urgency(total: float, ceiling: float, protocol: Protocol) -> Urgency:
    """How loudly a total speaks: above its ceiling, near it, or well below."""
    if above(total, ceiling):
        return Urgency.STOP_AND_THINK
    share = protocol.limit("running-total-caution-share").value / 100.0
    return Urgency.CAUTION if at_least(total, share * ceiling) else Urgency.INFO


def left_of(total: float, ceiling: float) -> float:
    """What is left below a ceiling, never less than nothing; a total that reads the same has none.

    Examples
    --------
    >>> left_of(sum([0.1] * 100), 10.0)
    0.0
    """
    return 0.0 if at_least(total, ceiling) else ceiling - total
