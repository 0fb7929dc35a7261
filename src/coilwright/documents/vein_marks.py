"""What stands under the straightened vein: narrowings, levels with their coils, the axis."""

from xml.etree.ElementTree import Element

from coilwright.documents.page_levels import coil_mm
from coilwright.documents.page_veins import narrowing_words
from coilwright.documents.svg_parts import (
    INK,
    PAPER,
    backed_text,
    circle,
    group,
    line,
    path,
    rect,
    text,
)
from coilwright.documents.vein_labels import LabelRows
from coilwright.documents.vein_scale import AXIS, LEFT, MIDDLE, RIGHT, VeinScale
from coilwright.planning import DeviceChoice, Level, OcclusionPlan
from coilwright.veins import Vessel

BAND_FOOT = 206.0
BRACKET = 214.0
NARROWING_WORDS = (232.0, 249.0)
ZONE_TOP, ZONE_HEIGHT = 260.0, 10.0
ZONE_WORDS = (290.0, 307.0)
LOOP_GAP = 4.0


def draw_axis(parent: Element, scale: VeinScale) -> None:
    """Distance from the origin across, a tick at every step."""
    shape = group(parent, part="axis")
    line(shape, (LEFT, AXIS), (RIGHT, AXIS))
    for tick_mm in scale.ticks_mm():
        x = scale.x(scale.origin_mm + tick_mm)
        line(shape, (x, AXIS), (x, AXIS + 6), mm=f"{tick_mm:g}")
        text(shape, x, AXIS + 21, f"{tick_mm:g}", anchor="middle")
    words = f"mm along the vein from {scale.origin_words}, as projected: it is at least as long"
    text(shape, (LEFT + RIGHT) / 2, AXIS + 42, words, anchor="middle")


def draw_calibre_bar(parent: Element, scale: VeinScale, widest_mm: float) -> None:
    """A ruler for calibre beside the band, an even number of millimetres."""
    shape = group(parent, part="calibre-bar")
    length_mm = max(2, int(widest_mm // 2 * 2))
    half = scale.half(length_mm)
    line(shape, (38, MIDDLE - half), (38, MIDDLE + half), width=2, mm=f"{length_mm}")
    for y in (MIDDLE - half, MIDDLE + half):
        line(shape, (33, y), (43, y), width=2)
    text(shape, 38, MIDDLE + half + 17, f"{length_mm} mm", anchor="middle")
    text(shape, 38, MIDDLE + half + 33, "calibre", anchor="middle")


def draw_narrowings(parent: Element, trunk: Vessel, scale: VeinScale) -> None:
    """A bracket under each narrowing, with what is seen and what it probably is."""
    rows = LabelRows(NARROWING_WORDS)
    for narrowing in trunk.narrowings:
        shape = group(parent, part="narrowing")
        start, end = scale.x(narrowing.from_mm), scale.x(narrowing.to_mm)
        for x in (start, end):
            line(shape, (x, BRACKET - 7), (x, BRACKET))
        line(shape, (start, BRACKET), (end, BRACKET), part="bracket")
        words = narrowing_words(narrowing, trunk)
        backed_text(shape, *rows.place((start + end) / 2, words), words)


def draw_levels(parent: Element, plan: OcclusionPlan, scale: VeinScale) -> None:
    """Each landing zone as a numbered step, its first coil drawn to scale in the vein."""
    rows = LabelRows(ZONE_WORDS)
    for level in sorted(plan.levels, key=lambda level: level.zone.from_mm):
        shape = group(parent, part="level", level=level.name.value)
        start, end = scale.x(level.zone.from_mm), scale.x(level.zone.to_mm)
        middle = (start + end) / 2
        rect(shape, (start, ZONE_TOP), (end - start, ZONE_HEIGHT), fill=INK, part="zone")
        for x in (start, end):
            line(shape, (x, BAND_FOOT), (x, ZONE_TOP), width=1, dashed=True)
        _badge(shape, middle, ZONE_TOP + ZONE_HEIGHT / 2, str(level.order))
        first = next((choice for choice in level.choices if choice.advised), None)
        words = f"{level.name.value}: {first.name if first else 'no coil advised first'}"
        backed_text(shape, *rows.place(middle, words), words)
        if first is not None and level.relaxed is not None:
            _draw_coil(shape, first, coil_mm(first, level.relaxed), level, scale)


def _badge(parent: Element, x: float, y: float, words: str) -> None:
    circle(parent, (x, y), 12, fill=INK, stroke=PAPER)
    text(parent, x, y + 5, words, anchor="middle", fill=PAPER, bold=True)


def _draw_coil(
    parent: Element, coil: DeviceChoice, diameter_mm: float, level: Level, scale: VeinScale
) -> None:
    """The close-wound nest at the coil's free width, at the far end of its zone."""
    length = coil.nest_length_mm[0] * scale.per_mm
    half, end = scale.half(diameter_mm), scale.x(level.zone.to_mm)
    shape = group(parent, part="coil", device=coil.device)
    rect(
        shape,
        (end - length, MIDDLE - half),
        (length, 2 * half),
        fill="none",
        stroke=INK,
        dashed=True,
        part="nest",
    )
    loops = max(1, round(length / LOOP_GAP))
    step = length / loops
    for loop in range(loops):
        x = end - length + loop * step
        path(shape, f"M {x:.2f} {MIDDLE - half:.2f} L {x + step:.2f} {MIDDLE + half:.2f}")
