"""What stands on the straightened vein: side veins, narrowings, levels, tip, bone, axis."""

from collections.abc import Iterator
from xml.etree.ElementTree import Element, SubElement

from coilwright.documents.page_levels import coil_mm
from coilwright.documents.page_veins import KIND_WORDS, narrowing_words
from coilwright.documents.svg_parts import (
    INK,
    PAPER,
    Point,
    circle,
    line,
    path,
    rect,
    text,
    text_width,
)
from coilwright.documents.vein_band import half_at
from coilwright.documents.vein_scale import LEFT, MIDDLE, RIGHT, VeinScale, mark_arc_mm
from coilwright.planning import Level, OcclusionPlan
from coilwright.planning.trunk_course import project_onto
from coilwright.veins import VeinMap, Vessel, VesselKind

LABEL_ROWS = (22.0, 42.0, 62.0)
BAND_FOOT = 205.0
BRACKET = 212.0
NARROWING_WORDS = 232.0
ZONE_TOP, ZONE_HEIGHT = 246.0, 10.0
ZONE_WORDS = 276.0
AXIS = 296.0
LOOP_GAP = 4.0


class LabelRow:
    """Rows of labels that do not overlap: each label takes the first row with room."""

    def __init__(self, rows: tuple[float, ...]) -> None:
        self._rows, self._taken = rows, [0.0 for _ in rows]

    def place(self, x: float, words: str) -> Point:
        """Where a label that wants its middle at ``x`` goes; the last row takes what is left."""
        half = text_width(words) / 2
        middle = min(max(x, half), RIGHT + 25 - half)
        for index, end in enumerate(self._taken):
            if middle - half >= end + 6 or index == len(self._rows) - 1:
                self._taken[index] = max(end, middle + half)
                return middle, self._rows[index]
        raise AssertionError("unreachable")


def draw_axis(parent: Element, scale: VeinScale) -> None:
    """Distance from the origin across, a tick at every step."""
    group = SubElement(parent, "g", {"data-part": "axis"})
    line(group, (LEFT, AXIS), (RIGHT, AXIS))
    for tick_mm in scale.ticks_mm():
        x = scale.x(scale.origin_mm + tick_mm)
        line(group, (x, AXIS), (x, AXIS + 6), data_mm=f"{tick_mm:g}")
        text(group, x, AXIS + 21, f"{tick_mm:g}", anchor="middle")
    words = f"mm along the vein from {scale.origin_words}, as projected: the vein is at least as long"
    text(group, (LEFT + RIGHT) / 2, AXIS + 43, words, anchor="middle")


def draw_calibre_bar(parent: Element, scale: VeinScale, widest_mm: float) -> None:
    """A ruler for calibre beside the band, in whole millimetres."""
    group = SubElement(parent, "g", {"data-part": "calibre-bar"})
    length_mm = max(2, int(widest_mm // 2 * 2))
    half = scale.half(length_mm)
    line(group, (40, MIDDLE - half), (40, MIDDLE + half), width=2, data_mm=f"{length_mm}")
    for y in (MIDDLE - half, MIDDLE + half):
        line(group, (35, y), (45, y), width=2)
    text(group, 40, MIDDLE + half + 17, f"{length_mm} mm", anchor="middle")
    text(group, 40, MIDDLE + half + 32, "calibre", anchor="middle", size=12)


def draw_branches(parent: Element, vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> None:
    """Side veins as ticks and duplicates as arcs, each at its true place with its id."""
    group = SubElement(parent, "g", {"data-part": "branches"})
    rows = LabelRow(LABEL_ROWS)
    for vessel, places_mm in sorted(_branches(vein_map, trunk), key=lambda found: min(found[1])):
        words = vessel.id if vessel.kind.value in vessel.id else f"{vessel.id} ({_kind(vessel)})"
        xs = [scale.x(at_mm) for at_mm in places_mm]
        middle = sum(xs) / len(xs)
        label_x, label_y = rows.place(middle, words)
        text(group, label_x, label_y, words, anchor="middle")
        branch = SubElement(group, "g", {"data-vessel": vessel.id, "data-kind": vessel.kind.value})
        tops = [MIDDLE - half_at(trunk, at_mm, scale) for at_mm in places_mm]
        if len(xs) > 1:
            peak = label_y + 6
            control = 2 * peak - (tops[0] + tops[-1]) / 2
            course = f"M {xs[0]:.2f} {tops[0]:.2f} Q {middle:.2f} {control:.2f}"
            path(branch, f"{course} {xs[-1]:.2f} {tops[-1]:.2f}", width=2)
        for x, top, at_mm in zip(xs, tops, places_mm, strict=True):
            foot = top - 12 if len(xs) > 1 else label_y + 5
            line(branch, (x, foot), (x, top), width=2.5, data_mm=f"{at_mm - scale.origin_mm:.1f}")


def draw_narrowings(parent: Element, trunk: Vessel, scale: VeinScale) -> None:
    """A bracket under each narrowing, with what is seen and what it probably is."""
    rows = LabelRow((NARROWING_WORDS,))
    for narrowing in trunk.narrowings:
        group = SubElement(parent, "g", {"data-part": "narrowing"})
        start, end = scale.x(narrowing.from_mm), scale.x(narrowing.to_mm)
        for x in (start, end):
            line(group, (x, BRACKET - 7), (x, BRACKET))
        line(group, (start, BRACKET), (end, BRACKET), data_part="bracket")
        words = narrowing_words(narrowing, trunk)
        x, y = rows.place((start + end) / 2, words)
        text(group, x, y, words, anchor="middle")


def draw_levels(parent: Element, plan: OcclusionPlan, scale: VeinScale) -> None:
    """Each landing zone as a numbered step, its first coil drawn to scale in the vein."""
    for level in plan.levels:
        group = SubElement(
            parent, "g", {"data-part": "level", "data-level": level.name.value}
        )
        start, end = scale.x(level.zone.from_mm), scale.x(level.zone.to_mm)
        rect(group, (start, ZONE_TOP), (end - start, ZONE_HEIGHT), fill=INK, data_part="zone")
        for x in (start, end):
            line(group, (x, BAND_FOOT), (x, ZONE_TOP), width=1, dashed=True)
        middle = (start + end) / 2
        circle(group, (middle, ZONE_TOP + ZONE_HEIGHT / 2), 12, fill=INK, stroke=PAPER)
        text(
            group,
            middle,
            ZONE_TOP + ZONE_HEIGHT / 2 + 5,
            str(level.order),
            anchor="middle",
            fill=PAPER,
            bold=True,
        )
        words = _level_words(level)
        half = text_width(words) / 2
        x = min(max(middle, LEFT + half), RIGHT + 25 - half)
        text(group, x, ZONE_WORDS, words, anchor="middle")
        _draw_coil(group, level, scale)


def draw_tip(parent: Element, vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> None:
    """The catheter from above to its tip; a tip elsewhere is said in words alone."""
    tip_px = vein_map.catheter.tip_px
    if tip_px is None or vein_map.catheter.in_vessel != trunk.id:
        return
    at_mm = project_onto(trunk, tip_px, mm_per_pixel=vein_map.calibration.mm_per_pixel).arc_mm
    group = SubElement(parent, "g", {"data-part": "tip"})
    x = scale.x(at_mm)
    line(group, (LEFT - 8, MIDDLE), (x, MIDDLE), width=6, stroke=PAPER)
    line(group, (LEFT - 8, MIDDLE), (x, MIDDLE), width=3)
    circle(group, (x, MIDDLE), 5, fill=INK, stroke=PAPER)
    words = "catheter tip"
    end = x + 12 + text_width(words) > RIGHT
    label_x = x - 12 if end else x + 12
    width = text_width(words) + 4
    rect(
        group,
        (label_x - width + 2 if end else label_x - 2, MIDDLE - 10),
        (width, 19),
        fill=PAPER,
    )
    text(group, label_x, MIDDLE + 5, words, anchor="end" if end else "start")


def draw_bone(parent: Element, vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> None:
    """The marks of bone across the picture."""
    marks = {
        "internal ring": vein_map.landmarks.internal_ring,
        "hard floor: pubic ramus": vein_map.landmarks.superior_ramus_edge,
    }
    for row, (words, mark) in enumerate(marks.items()):
        if mark is None:
            continue
        x = scale.x(mark_arc_mm(vein_map, trunk, mark))
        group = SubElement(parent, "g", {"data-part": "bone"})
        line(group, (x, 78 + 16 * row), (x, AXIS), width=1, dashed=True)
        anchor = "end" if x > (LEFT + RIGHT) / 2 else "start"
        text(group, x - 4 if anchor == "end" else x + 4, 88 + 16 * row, words, anchor=anchor)


def _branches(vein_map: VeinMap, trunk: Vessel) -> Iterator[tuple[Vessel, list[float]]]:
    for vessel in vein_map.vessels:
        places_mm = sorted(join.at_mm for join in vessel.joins if join.vessel == trunk.id)
        if vessel.id != trunk.id and places_mm:
            yield vessel, places_mm


def _kind(vessel: Vessel) -> str:
    return KIND_WORDS[VesselKind(vessel.kind)]


def _level_words(level: Level) -> str:
    first = next((choice for choice in level.choices if choice.advised), None)
    coil = "no coil advised" if first is None else first.name
    return f"{level.name.value}: {coil}"


def _draw_coil(parent: Element, level: Level, scale: VeinScale) -> None:
    """The first coil's close-wound nest at its free width, at the far end of its zone."""
    first = next((choice for choice in level.choices if choice.advised), None)
    if first is None or level.relaxed is None:
        return
    length = max(first.nest_length_mm[0] * scale.per_mm, LOOP_GAP)
    half = scale.half(coil_mm(first, level.relaxed))
    end = scale.x(level.zone.to_mm)
    group = SubElement(parent, "g", {"data-part": "coil", "data-device": first.device})
    rect(
        group,
        (end - length, MIDDLE - half),
        (length, 2 * half),
        fill="none",
        stroke=INK,
        dashed=True,
        data_part="nest",
    )
    loops = max(1, round(length / LOOP_GAP))
    step = length / loops
    for loop in range(loops):
        x = end - length + loop * step
        path(group, f"M {x:.2f} {MIDDLE - half:.2f} L {x + step:.2f} {MIDDLE + half:.2f}", width=1.2)
