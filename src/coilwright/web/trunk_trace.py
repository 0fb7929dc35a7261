"""The main vein as the page follows it: where each distance lies in the picture, and its words."""

from dataclasses import dataclass

from coilwright.documents.figures import calibre_mm
from coilwright.documents.page_veins import trunk_origin_mm
from coilwright.veins import VeinMap

# Samples this far apart are closer than a finger or a pointer can tell.
STEP_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class TrunkTrace:
    """Parallel arrays, one item about every millimetre, from the cranial end down.

    ``arc_mm`` is the map's own; ``words`` say the distance from the ostium and the calibre there.
    """

    arc_mm: tuple[float, ...]
    points_px: tuple[tuple[float, float], ...]
    words: tuple[str, ...]


def trunk_trace(vein_map: VeinMap) -> TrunkTrace | None:
    """The main vein's samples in words; None where no main vein was found."""
    trunk = vein_map.trunk
    if trunk is None:
        return None
    start_mm, origin = trunk_origin_mm(vein_map, trunk)
    kept = _about_every(trunk.arc_mm, STEP_MM)
    return TrunkTrace(
        arc_mm=tuple(round(trunk.arc_mm[i], 2) for i in kept),
        points_px=tuple(trunk.points_px[i] for i in kept),
        words=tuple(
            f"{trunk.arc_mm[i] - start_mm:.0f} mm from {origin}: "
            f"{calibre_mm(trunk.diameter_mm[i], trunk.diameter_sd_mm[i])}"
            for i in kept
        ),
    )


def _about_every(arc_mm: tuple[float, ...], step_mm: float) -> list[int]:
    """Indices of samples at least ``step_mm`` apart; the first is always among them."""
    kept = [0]
    for index, at_mm in enumerate(arc_mm):
        if at_mm - arc_mm[kept[-1]] >= step_mm:
            kept.append(index)
    return kept
