"""Sclerosants."""

from dataclasses import dataclass

from coilwright.kit.device import Device


@dataclass(frozen=True, slots=True, kw_only=True)
class Sclerosant(Device):
    """A sclerosant as packed: substance, strength (1 % = 10 mg/mL), volume of one vial."""

    substance: str
    strength_percent: float
    volume_ml: float
