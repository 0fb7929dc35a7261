"""The scale of a run: millimetres per pixel, and how sure it is."""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.veins.notice import Notice


class CalibrationMethod(StrEnum):
    """What the scale was taken from."""

    CATHETER = "catheter"
    RULER = "ruler"
    HEADER_GEOMETRY = "header-geometry"
    GIVEN = "given"


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """Millimetres per pixel in the plane that ``method`` measured.

    ``catheter_fr`` and ``catheter_lumen_mm`` are the catheter's labels as stated; ``relative_sd``
    is the standard deviation over the value; ``tolerance_relative_sd`` is the manufacturing
    tolerance of the catheter where the site states it, kept apart.
    """

    mm_per_pixel: float
    relative_sd: float
    method: CalibrationMethod
    catheter_fr: float | None = None
    catheter_lumen_mm: float | None = None
    tolerance_relative_sd: float | None = None
    warnings: tuple[Notice, ...] = ()

    @property
    def catheter_words(self) -> str:
        """The labels that the scale rests on, such as "5 F, lumen 0.97 mm by its label"."""
        if self.catheter_fr is None:
            return ""
        lumen_mm = self.catheter_lumen_mm
        label = "" if lumen_mm is None else f", lumen {lumen_mm:g} mm by its label"
        return f"{self.catheter_fr:g} F{label}"

    def __post_init__(self) -> None:
        if not self.mm_per_pixel > 0:
            raise ValueError(f"a scale must be positive, got {self.mm_per_pixel}")
        if not self.relative_sd >= 0:
            raise ValueError(f"an uncertainty cannot be negative, got {self.relative_sd}")
