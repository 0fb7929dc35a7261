"""A limit and a choice: one number or one decision of the department, and whose word it is."""

import math
from dataclasses import dataclass
from datetime import date

from coilwright.advice import Status
from coilwright.protocol.limit_units import LIMIT_UNITS


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """What a site changed: the value before, why, by whom and when."""

    value_before: float | str
    why: str
    changed_by: str
    changed_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """One number with its unit, its source and how far that source was verified.

    ``minimum`` and ``maximum`` are sanity bounds for a site's own value, in the same unit.
    """

    id: str
    value: float
    unit: str
    title: str
    source: str
    status: Status
    minimum: float
    maximum: float
    note: str | None = None
    signed_off_by: str | None = None
    signed_off_on: date | None = None
    overridden: Override | None = None

    def __post_init__(self) -> None:
        if not (self.id and self.title and self.source):
            raise ValueError("a limit needs an id, a title and a source")
        if self.unit not in LIMIT_UNITS:
            raise ValueError(f"{self.id}: {self.unit} is not a unit that limits are given in")
        if not all(map(math.isfinite, (self.value, self.minimum, self.maximum))):
            raise ValueError(f"{self.id}: value and sanity bounds must be finite")
        if not self.minimum <= self.value <= self.maximum:
            raise ValueError(f"{self.id}: {self.value:g} is outside its sanity bounds")

    @property
    def stands(self) -> bool:
        """False for a limit from memory that nobody at the site has signed off."""
        return self.status is not Status.FROM_MEMORY or self.signed_off_by is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A question that sources answer differently, and the answer that the site follows."""

    id: str
    value: str
    options: tuple[str, ...]
    title: str
    source: str
    status: Status
    note: str | None = None
    signed_off_by: str | None = None
    signed_off_on: date | None = None
    overridden: Override | None = None

    def __post_init__(self) -> None:
        if not (self.id and self.title and self.source):
            raise ValueError("a choice needs an id, a title and a source")
        if self.value not in self.options:
            raise ValueError(f"{self.id}: {self.value} is none of {', '.join(self.options)}")

    @property
    def stands(self) -> bool:
        """False for a choice from memory that nobody at the site has signed off."""
        return self.status is not Status.FROM_MEMORY or self.signed_off_by is not None
