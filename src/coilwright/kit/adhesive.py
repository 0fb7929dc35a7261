"""Liquid adhesives."""

from dataclasses import dataclass

from coilwright.kit.device import Device


@dataclass(frozen=True, slots=True, kw_only=True)
class Adhesive(Device):
    """A liquid adhesive as packed: substance, volume of one vial, and what it is mixed with."""

    substance: str
    volume_ml: float
    mixed_with: str | None = None
