"""A computed statement with its rule and source, and how it is worded."""

from coilwright.advice.advisory import Advisory, Status, Urgency
from coilwright.advice.wording import DISCLAIMER, SHOWN_BESIDE

__all__ = ["DISCLAIMER", "SHOWN_BESIDE", "Advisory", "Status", "Urgency"]
