"""Vascular plugs."""

from dataclasses import dataclass

from coilwright.kit.coil import check_lumen_range
from coilwright.kit.device import Device


@dataclass(frozen=True, slots=True, kw_only=True)
class Plug(Device):
    """A plug as labelled: its nominal ``diameter_mm``, and the lumen that its delivery needs.

    ``pusher_length_cm`` is that of the wire that it comes on.
    """

    diameter_mm: float
    length_mm: float | None = None
    needs_lumen_min_inch: float | None = None
    needs_lumen_max_inch: float | None = None
    pusher_length_cm: float | None = None

    def __post_init__(self) -> None:
        Device.__post_init__(self)
        check_lumen_range(self.needs_lumen_min_inch, self.needs_lumen_max_inch)
