"""The advisory: what was computed, from what, by which rule, on whose word."""

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum


class Urgency(StrEnum):
    """How loudly an advisory speaks."""

    INFO = "info"
    CAUTION = "caution"
    STOP_AND_THINK = "stop-and-think"


class Status(StrEnum):
    """How far the value behind an advisory has been verified."""

    PUBLISHED = "published"
    RESTATED = "published (restated)"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"
    COMPUTED = "computed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Advisory:
    """A computed statement with what justifies it.

    ``value`` and ``limit`` share ``unit``, and so do ``low`` and ``high``, the range that the value
    is thought to lie in (None where no uncertainty is known). A quantity that is known as a range
    alone has ``low`` and ``high`` and no ``value``. ``inputs`` maps what went in to how it reads,
    unit included. ``rule`` is a stable id (``ckd-epi-2021``), ``source`` is title, year and table.
    ``left`` is what may still be given below ``limit``, all that shares it counted; None where that
    is not known or the limit is no running total. ``missing`` names the inputs without which the
    rule could not be applied.
    ``signed_off_by`` and ``signed_off_on`` name who at the site stands for the limit.
    """

    urgency: Urgency
    text: str
    rule: str
    source: str
    status: Status
    value: float | None = None
    low: float | None = None
    high: float | None = None
    limit: float | None = None
    left: float | None = None
    unit: str | None = None
    inputs: dict[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    signed_off_by: str | None = None
    signed_off_on: date | None = None

    def __post_init__(self) -> None:
        if not (self.text and self.rule and self.source):
            raise ValueError("an advisory needs a text, a rule and a source")
        numbers = (self.value, self.low, self.high, self.limit, self.left)
        if self.unit is None and any(number is not None for number in numbers):
            raise ValueError(f"the advisory {self.rule} gives a number without its unit")
        if (self.low is None) != (self.high is None):
            raise ValueError(f"the advisory {self.rule} gives half a range")
