"""Snares."""

from dataclasses import dataclass

from coilwright.kit.device import Device


@dataclass(frozen=True, slots=True, kw_only=True)
class Snare(Device):
    """A snare as labelled; ``shaft_inch`` is its widest part when drawn in.

    ``needs_sheath_fr`` is the sheath that takes it out with what it has caught.
    """

    loop_diameter_mm: float
    shaft_inch: float | None = None
    length_cm: float | None = None
    needs_sheath_fr: float | None = None
