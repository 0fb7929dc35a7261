"""What every device of the kit carries: its label, where that was read, and its place on the shelf.

A label's numbers stay in the units they are printed in; names end in that unit.
"""

from dataclasses import dataclass, fields
from datetime import date
from functools import cache
from typing import Any

from coilwright.kit.identifiers import is_device_identifier

# Sanity bounds of a label, to catch a value in another unit (a lumen of 0.97 is in mm, not in
# inches). Wide on purpose: they bound what such devices can be, they do not describe any.
LABEL_BOUNDS: dict[str, tuple[float, float]] = {
    "outer_fr": (1.0, 24.0),
    "outer_distal_fr": (1.0, 24.0),
    "accepts_fr": (2.0, 24.0),
    "needs_sheath_fr": (2.0, 24.0),
    "gauge": (8, 34),
    "lumen_inch": (0.008, 0.3),
    "lumen_mm": (0.2, 7.6),
    "shaft_inch": (0.008, 0.3),
    "accepts_wire_inch": (0.008, 0.1),
    "inner_diameter_mm": (0.1, 5.0),
    "wire_inch": (0.008, 0.1),
    "wire_diameter_inch": (0.005, 0.1),
    "needs_lumen_min_inch": (0.008, 0.1),
    "needs_lumen_max_inch": (0.008, 0.1),
    "length_cm": (1.0, 450.0),
    "pusher_length_cm": (20.0, 450.0),
    "diameter_mm": (1.0, 40.0),
    "loop_diameter_mm": (1.0, 60.0),
    "length_mm": (2.0, 1500.0),
    "strength_percent": (0.05, 10.0),
    "volume_ml": (0.1, 100.0),
    "shelf_count": (0, 100_000),
    "price": (0.01, 1_000_000.0),
}


class ImpossibleLabel(ValueError):
    """A labelled value that no such device can have; names the field, what was found, the mend."""

    def __init__(self, field: str, found: str, mend: str) -> None:
        self.field, self.found, self.mend = field, found, mend
        super().__init__(field, found, mend)

    def __str__(self) -> str:
        return f"{self.field}: {self.found}; {self.mend}"


@dataclass(frozen=True, slots=True, kw_only=True)
class MrCondition:
    """What the label says about one field strength; ``label`` null where it says nothing."""

    field_t: float
    label: str | None = None

    def __post_init__(self) -> None:
        if not 0 < self.field_t <= 20:
            raise ImpossibleLabel("mr.field_t", f"{self.field_t:g}", "give the field in tesla")


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueSource:
    """Where one labelled value was read, when it was not read where the rest was."""

    value: str
    read_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """One article of the kit. ``read_at`` says where its label's values were read.

    ``sources`` names the values that were read elsewhere, each with its own place.
    ``expiry`` is the last day on which it may be used. ``price`` is that of one article in the
    department's own currency, null where nobody stated it: never nought. A label that gives
    no MR condition at a field strength is silent there: nothing is inferred from the material.
    """

    id: str
    name: str
    read_at: str
    shelf_count: int
    lot: str | None = None
    expiry: date | None = None
    udi_di: str | None = None
    mr: tuple[MrCondition, ...] = ()
    sources: tuple[ValueSource, ...] = ()
    price: float | None = None

    def __post_init__(self) -> None:
        for name in ("id", "name", "read_at"):
            if not getattr(self, name).strip():
                raise ImpossibleLabel(name, "empty", "say it in words")
        if self.udi_di is not None and not is_device_identifier(self.udi_di):
            found = "no GTIN of fourteen figures with a right check digit, HIBC or ISBT 128 code"
            raise ImpossibleLabel("udi_di", found, "scan the pack and copy its identifier")
        _check_bounds(self)
        _check_sources(self)
        _check_mr(self)

    def where_read(self, value: str) -> str:
        """Where this one labelled value was read."""
        return next((s.read_at for s in self.sources if s.value == value), self.read_at)

    def expired(self, on: date) -> bool | None:
        """Whether the last day of use lies before ``on``; null where the label gives none."""
        return None if self.expiry is None else on > self.expiry

    def usable(self, on: date | None) -> bool:
        """On the shelf, and not known to be expired on that day (no day: expiry not judged)."""
        return self.shelf_count > 0 and not (on is not None and self.expired(on))


@cache
def _bounds_of(kind: Any) -> tuple[tuple[str, float, float], ...]:
    """Name, least and most of each bounded value; kept, since a shelf holds thousands."""
    names = (field.name for field in fields(kind))
    return tuple((name, *LABEL_BOUNDS[name]) for name in names if name in LABEL_BOUNDS)


def _check_bounds(device: Device) -> None:
    kind: Any = type(device)
    for name, low, high in _bounds_of(kind):
        value = getattr(device, name)
        if value is not None and not low <= value <= high:
            raise ImpossibleLabel(
                name, f"{value:g} is not possible", f"give a value from {low:g} to {high:g}"
            )


@cache
def _values_of(kind: Any) -> frozenset[str]:
    return frozenset(field.name for field in fields(kind))


def _check_sources(device: Device) -> None:
    if not device.sources:
        return
    kind: Any = type(device)
    known = _values_of(kind)
    for source in device.sources:
        if source.value not in known:
            raise ImpossibleLabel(
                "sources", f"{source.value} is no value of this device", "name one of its own"
            )
        if getattr(device, source.value) is None:
            raise ImpossibleLabel(
                "sources", f"{source.value} is not given", f"give {source.value} or take it out"
            )
        if not source.read_at.strip():
            raise ImpossibleLabel("sources", f"{source.value}: empty", "say where it was read")


def _check_mr(device: Device) -> None:
    if not device.mr:
        return
    strengths = [condition.field_t for condition in device.mr]
    if len(set(strengths)) < len(strengths):
        raise ImpossibleLabel("mr", "one field strength twice", "give each field strength once")
