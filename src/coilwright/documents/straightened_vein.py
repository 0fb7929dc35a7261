"""The straightened vein: distance from the ostium across, calibre as width.

A standalone SVG in picture units; it embeds in a page and in the report alike. Shapes and words
carry everything that colour does.
"""

from xml.etree.ElementTree import Element, SubElement, tostring

from coilwright.documents.page_runs import NO_RUN
from coilwright.documents.svg_parts import PAPER, number, rect, text
from coilwright.documents.vein_band import draw_band
from coilwright.documents.vein_labels import draw_catheter, draw_named
from coilwright.documents.vein_marks import (
    draw_axis,
    draw_calibre_bar,
    draw_levels,
    draw_narrowings,
)
from coilwright.documents.vein_scale import HEIGHT, WIDTH, vein_scale, widest_mm
from coilwright.planning import OcclusionPlan
from coilwright.veins import VeinMap

NO_TRUNK = "no main vein was found on the run"
TITLE = "Straightened vein"


def straightened_vein_svg(vein_map: VeinMap | None, plan: OcclusionPlan) -> str:
    """A standalone SVG; without a map, or without a trunk on it, the picture says so in words."""
    root = Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {number(WIDTH)} {number(HEIGHT)}",
            "role": "img",
        },
    )
    SubElement(root, "title").text = TITLE
    SubElement(root, "desc").text = straightened_caption(vein_map)
    rect(root, (0, 0), (WIDTH, HEIGHT), fill=PAPER)
    trunk = None if vein_map is None else vein_map.trunk
    if vein_map is None or trunk is None:
        words = NO_RUN if vein_map is None else NO_TRUNK
        text(root, WIDTH / 2, HEIGHT / 2, f"Not drawn: {words}.", anchor="middle")
        return tostring(root, encoding="unicode")
    scale = vein_scale(vein_map, trunk)
    draw_band(root, trunk, scale)
    draw_named(root, vein_map, trunk, scale)
    draw_catheter(root, vein_map, trunk, scale)
    draw_levels(root, plan, scale)
    draw_narrowings(root, trunk, scale)
    draw_calibre_bar(root, scale, widest_mm(trunk))
    draw_axis(root, scale)
    return tostring(root, encoding="unicode")


def straightened_caption(vein_map: VeinMap | None) -> str:
    """What the picture shows and to which scale, in words."""
    trunk = None if vein_map is None else vein_map.trunk
    if vein_map is None or trunk is None:
        return f"Straightened vein not drawn: {NO_RUN if vein_map is None else NO_TRUNK}."
    scale = vein_scale(vein_map, trunk)
    magnified = "to the same scale as the length"
    if scale.widen > 1:
        magnified = f"magnified {scale.widen} times against the length"
    return (
        f"The main vein straightened: distance from {scale.origin_words} across, calibre as width, "
        f"{magnified}; the lighter edge is one standard deviation of fit and scale. Ticks are side "
        "veins, arcs duplicates; the hard floor is the upper edge of the superior pubic ramus. "
        "Numbered bars are the levels in the order of placement, each with the close-wound nest of "
        "its first coil at its free width."
    )
