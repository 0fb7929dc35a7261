"""One calibre for a stretch of a vessel: the even tube that resists flow as the stretch does.

Resistance goes with the integral of 1 / d^4 along the stretch, so the even tube of the same length
has d = (length / integral)^(1/4): the narrow part counts most.
"""

from dataclasses import dataclass, replace
from itertools import pairwise
from math import hypot

from coilwright.veins import Vessel
from coilwright.veins.vessel_parts import resampled


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceCalibre:
    """The even tube's diameter, its standard deviation, and how much of the stretch is known.

    ``relaxed_diameter_mm`` is that tube with every narrowing relaxed, null where there is none or
    where one of them relaxes to nobody knows what (``spasm_unknown``).
    """

    diameter_mm: float
    diameter_sd_mm: float
    relaxed_diameter_mm: float | None
    known_share: float
    spasm_unknown: bool


def piece_calibre(vessel: Vessel, from_mm: float, to_mm: float) -> PieceCalibre | None:
    """The calibre of a vessel between two arcs; None where nothing was measured there.

    The errors of the samples are taken as common to all, for scale and depth are: that makes the
    standard deviation larger than independent errors would.
    """
    arcs_mm = sorted({from_mm, to_mm, *(a for a in vessel.arc_mm if from_mm < a < to_mm)})
    piece = resampled(vessel, arcs_mm)
    measured = _even_tube(piece)
    if measured is None:
        return None
    narrowings = [n for n in vessel.narrowings if n.to_mm > from_mm and n.from_mm < to_mm]
    unknown = any(n.relaxed_diameter_mm is None for n in narrowings)
    relaxed = None if unknown or not narrowings else _even_tube(_relaxed(piece))
    return PieceCalibre(
        diameter_mm=measured[0],
        diameter_sd_mm=measured[1],
        relaxed_diameter_mm=None if relaxed is None else relaxed[0],
        known_share=measured[2] / (to_mm - from_mm),
        spasm_unknown=unknown,
    )


def _relaxed(piece: Vessel) -> Vessel:
    """The piece with every narrowing as wide as it relaxes to, where that is wider."""

    def width_mm(arc_mm: float, diameter_mm: float | None) -> float | None:
        wider = [
            n.relaxed_diameter_mm or 0.0 for n in piece.narrowings if n.from_mm <= arc_mm <= n.to_mm
        ]
        return None if diameter_mm is None else max([diameter_mm, *wider])

    pairs = zip(piece.arc_mm, piece.diameter_mm, strict=True)
    return replace(piece, diameter_mm=tuple(width_mm(arc, d) for arc, d in pairs))


def _even_tube(piece: Vessel) -> tuple[float, float, float] | None:
    """Diameter, standard deviation and known length of the even tube, by the trapezium rule."""
    known_mm = resistance = doubt = 0.0
    for i, j in pairwise(range(len(piece.arc_mm))):
        pair = (_sample(piece, i), _sample(piece, j))
        if pair[0] is None or pair[1] is None:
            continue
        step_mm = piece.arc_mm[j] - piece.arc_mm[i]
        known_mm += step_mm
        resistance += step_mm * sum(d**-4 for d, _ in (pair[0], pair[1])) / 2.0
        doubt += step_mm * sum(sd * d**-5 for d, sd in (pair[0], pair[1])) / 2.0
    if known_mm == 0.0:
        return None
    diameter_mm = (known_mm / resistance) ** 0.25
    # d(diameter) = diameter^5 / length times the integral of d(width) / width^5.
    return diameter_mm, diameter_mm**5 * doubt / known_mm, known_mm


def _sample(piece: Vessel, index: int) -> tuple[float, float] | None:
    diameter_mm, sd_mm = piece.diameter_mm[index], piece.diameter_sd_mm[index]
    if diameter_mm is None or sd_mm is None:
        return None
    return diameter_mm, hypot(sd_mm, diameter_mm * (piece.depth_relative_sd[index] or 0.0))
