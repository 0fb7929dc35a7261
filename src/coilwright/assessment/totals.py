"""A running total beside its ceiling."""

from coilwright.advice import Urgency
from coilwright.protocol import Protocol


def total_urgency(total: float, ceiling: float, protocol: Protocol) -> Urgency:
    """How loudly a total speaks: above its ceiling, near it, or well below."""
    if total > ceiling:
        return Urgency.STOP_AND_THINK
    share = protocol.limit("running-total-caution-share").value / 100.0
    return Urgency.CAUTION if total >= share * ceiling else Urgency.INFO


def left_of(total: float, ceiling: float) -> float:
    """What is left below a ceiling, never less than nothing."""
    return max(ceiling - total, 0.0)
