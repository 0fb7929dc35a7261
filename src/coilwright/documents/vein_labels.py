"""What is named above the straightened vein: side veins, duplicates, marks of bone, the tip."""

from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree.ElementTree import Element

from coilwright.documents.page_veins import KIND_WORDS
from coilwright.documents.svg_parts import (
    INK,
    PAPER,
    Point,
    backed_text,
    circle,
    group,
    line,
    path,
    text_width,
)
from coilwright.documents.vein_band import half_at
from coilwright.documents.vein_scale import (
    AXIS,
    LEFT,
    MIDDLE,
    WIDTH,
    VeinScale,
    mark_arc_mm,
)
from coilwright.planning.trunk_course import project_onto
from coilwright.veins import VeinMap, Vessel

ROWS = (20.0, 40.0, 60.0)
ARC_PEAK = 76.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """Something at one or two places along the vein.

    ``feet`` are the points that the leaders go down to; two of them are joined by an arc.
    """

    part: str
    words: str
    feet: tuple[Point, ...]
    at_mm: tuple[float, ...]
    dashed: bool = False

    @property
    def x(self) -> float:
        """Where the label wants its middle."""
        return sum(x for x, _ in self.feet) / len(self.feet)


class LabelRows:
    """Rows of labels that do not overlap: each label, from the left, takes the first with room."""

    def __init__(self, rows: tuple[float, ...]) -> None:
        self._rows, self._taken = rows, [0.0 for _ in rows]

    def place(self, x: float, words: str) -> Point:
        """Where the label goes; where no row has room, the one that is free soonest."""
        half = text_width(words) / 2
        middle = min(max(x, half), WIDTH - 4 - half)
        fits = [i for i, end in enumerate(self._taken) if middle - half >= end + 6]
        row = fits[0] if fits else self._taken.index(min(self._taken))
        self._taken[row] = max(self._taken[row], middle + half)
        return middle, self._rows[row]


def draw_named(parent: Element, vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> None:
    """Everything that has a name, each at its true place; words last, so that no line cuts them."""
    rows = LabelRows(ROWS)
    named = [*_branches(vein_map, trunk, scale), *_bone(vein_map, trunk, scale)]
    named += _tip(vein_map, trunk, scale)
    placed = [(one, rows.place(one.x, one.words)) for one in sorted(named, key=lambda n: n.x)]
    for one, (_, y) in placed:
        shape = group(parent, part=one.part, name=one.words)
        _draw_leaders(shape, one, y, scale)
    for one, (x, y) in placed:
        backed_text(parent, x, y, one.words)


def draw_catheter(parent: Element, vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> None:
    """The catheter from above down to its tip, where that lies in the trunk."""
    for tip in _tip(vein_map, trunk, scale):
        shape = group(parent, part="catheter")
        (foot,) = tip.feet
        line(shape, (LEFT - 8, MIDDLE), foot, width=6, stroke=PAPER)
        line(shape, (LEFT - 8, MIDDLE), foot, width=3)
        circle(shape, foot, 5, fill=INK, stroke=PAPER)


def _draw_leaders(shape: Element, one: Named, y: float, scale: VeinScale) -> None:
    top = y + 5
    if len(one.feet) == 2:
        (x0, y0), (x1, y1) = one.feet
        control = 2 * ARC_PEAK - (y0 + y1) / 2
        path(shape, f"M {x0:.2f} {y0:.2f} Q {one.x:.2f} {control:.2f} {x1:.2f} {y1:.2f}", width=2)
        line(shape, (one.x, top), (one.x, ARC_PEAK), width=1)
    for (x, foot), at_mm in zip(one.feet, one.at_mm, strict=True):
        start = top if len(one.feet) != 2 else foot - 10
        width = 1.0 if one.dashed else 2.5
        data = f"{at_mm - scale.origin_mm:.1f}"
        line(shape, (x, start), (x, foot), width=width, dashed=one.dashed, mm=data)


def _branches(vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> Iterator[Named]:
    for vessel in vein_map.vessels:
        places = sorted(join.at_mm for join in vessel.joins if join.vessel == trunk.id)
        if vessel.id == trunk.id or not places:
            continue
        kind = vessel.kind.value
        yield Named(
            part=kind,
            words=vessel.id if kind in vessel.id else f"{vessel.id} ({KIND_WORDS[vessel.kind]})",
            feet=tuple((scale.x(at), MIDDLE - half_at(trunk, at, scale)) for at in places),
            at_mm=tuple(places),
        )


def _bone(vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> Iterator[Named]:
    marks = {
        "internal ring": vein_map.landmarks.internal_ring,
        "hard floor": vein_map.landmarks.superior_ramus_edge,
    }
    for words, mark in marks.items():
        if mark is not None:
            at_mm = mark_arc_mm(vein_map, trunk, mark)
            foot = (scale.x(at_mm), AXIS)
            yield Named(part="bone", words=words, feet=(foot,), at_mm=(at_mm,), dashed=True)


def _tip(vein_map: VeinMap, trunk: Vessel, scale: VeinScale) -> Iterator[Named]:
    tip_px = vein_map.catheter.tip_px
    if tip_px is None or vein_map.catheter.in_vessel != trunk.id:
        return
    at_mm = project_onto(trunk, tip_px, mm_per_pixel=vein_map.calibration.mm_per_pixel).arc_mm
    foot = (scale.x(at_mm), MIDDLE)
    yield Named(part="tip", words="catheter tip", feet=(foot,), at_mm=(at_mm,), dashed=True)
