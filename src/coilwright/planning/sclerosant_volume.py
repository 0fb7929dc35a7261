"""The volume of the vein between two levels: an upper sanity figure for sclerosant."""

import math

import numpy as np

from coilwright.planning.level_calibre import combined_mm, measurement_sd_parts_mm
from coilwright.planning.sclerosant_figure import SclerosantFigure
from coilwright.protocol import Protocol
from coilwright.veins import Calibration, Vessel

MM3_PER_ML = 1000.0


def vein_between(
    vessel: Vessel,
    from_mm: float,
    to_mm: float,
    calibration: Calibration,
    protocol: Protocol,
    *,
    what: str = "The vein between the levels",
) -> SclerosantFigure | None:
    """The vein's volume from ``from_mm`` to ``to_mm``, from the measured calibre; null if unknown.

    ``what`` begins the sentence that tells it. The veins that join there are not in it.

    Calibre is carried straight across samples that have none; with less than the protocol's
    share measured there is no figure. The standard deviation treats the error of calibre as
    common to the stretch.

    References
    ----------
    pi/4 * D^2 * Z, CLINICAL.md section 4.3. REVIEW.md 7: an upper sanity figure only; the dose
    is the contrast volume seen to fill the vein.
    """
    inside = [i for i, at_mm in enumerate(vessel.arc_mm) if from_mm <= at_mm <= to_mm]
    known = [
        i
        for i in inside
        if vessel.diameter_mm[i] is not None and vessel.diameter_sd_mm[i] is not None
    ]
    needed = protocol.limit("calibre-known-share-min").value / 100.0 * len(inside)
    if to_mm <= from_mm or len(known) < max(2.0, needed):
        return None
    arc_mm = np.array([vessel.arc_mm[i] for i in known])
    diameter_mm = np.array([vessel.diameter_mm[i] for i in known], dtype=float)
    at_mm = np.linspace(from_mm, to_mm, max(2, len(inside)))
    area_mm2 = math.pi / 4 * np.interp(at_mm, arc_mm, diameter_mm) ** 2
    volume_ml = float(np.trapezoid(area_mm2, at_mm)) / MM3_PER_ML
    sd_ml = 2 * volume_ml * _relative_sd(vessel, known, calibration, protocol)
    return SclerosantFigure(
        vessel=vessel.id,
        from_mm=from_mm,
        to_mm=to_mm,
        volume_ml=volume_ml,
        sd_ml=sd_ml,
        text=_words(what, to_mm - from_mm, volume_ml, sd_ml, len(known) / len(inside)),
    )


def _relative_sd(
    vessel: Vessel, known: list[int], calibration: Calibration, protocol: Protocol
) -> float:
    """Median over the samples of sd over diameter: an error shared by all does not average out."""
    relative = []
    for i in known:
        diameter_mm, sd_mm = vessel.diameter_mm[i], vessel.diameter_sd_mm[i]
        if diameter_mm and sd_mm is not None:
            depth = vessel.depth_relative_sd[i]
            parts = measurement_sd_parts_mm(diameter_mm, sd_mm, depth, calibration, protocol)
            relative.append(combined_mm(parts) / diameter_mm)
    return float(np.median(relative))


def _words(what: str, length_mm: float, volume_ml: float, sd_ml: float, known_share: float) -> str:
    gaps = "" if known_share > 0.99 else f" ({100 * known_share:.0f} % of it measured)"
    return (
        f"{what} holds {volume_ml:.1f} +- {sd_ml:.1f} mL over the projected "
        f"{length_mm:.0f} mm{gaps}, without the veins that join it. An upper sanity figure, not a "
        "dose: the dose is the contrast volume seen to fill the vein to the compressed ring "
        "without spill. The true length is at least the projected one."
    )
