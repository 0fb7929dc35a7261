"""The volume of a stretch of vein, as a plan holds it: never the dose."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class SclerosantFigure:
    """The vein between two arcs, as an upper sanity figure: never the dose."""

    vessel: str
    from_mm: float
    to_mm: float
    volume_ml: float
    sd_ml: float
    text: str
