"""The straightened vein for the page: the report's own drawing, in the page's colours."""

from dataclasses import dataclass

from coilwright.documents import straightened_vein_svg
from coilwright.documents.svg_parts import INK, PAPER
from coilwright.documents.vein_band import CORE, EDGE
from coilwright.documents.vein_scale import vein_scale
from coilwright.planning import OcclusionPlan
from coilwright.veins import VeinMap

# Presentation attributes take custom properties, so one drawing serves light and dark.
PAGE_COLOURS = {
    INK: "var(--ink)",
    PAPER: "var(--sheet)",
    CORE: "var(--vein)",
    EDGE: "var(--vein-spread)",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class VeinAxis:
    """Two places of the drawing: picture units across, and the arcs of the trunk they stand for."""

    x: tuple[float, float]
    arc_mm: tuple[float, float]


def straightened_drawing(vein_map: VeinMap | None, plan: OcclusionPlan) -> str:
    """The drawing as SVG, its colours left to the page's own tokens."""
    svg = straightened_vein_svg(vein_map, plan)
    for printed, on_page in PAGE_COLOURS.items():
        svg = svg.replace(f'="{printed}"', f'="{on_page}"')
    return svg


def vein_axis(vein_map: VeinMap) -> VeinAxis | None:
    """How the drawing is laid out; None where no main vein was found."""
    if vein_map.trunk is None:
        return None
    scale = vein_scale(vein_map, vein_map.trunk)
    ends_mm = (scale.first_mm, scale.last_mm)
    return VeinAxis(x=(scale.x(ends_mm[0]), scale.x(ends_mm[1])), arc_mm=ends_mm)
