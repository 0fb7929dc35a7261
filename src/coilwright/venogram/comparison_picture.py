"""The completion run with the map laid on it: what fills, what does not, what is not on the map."""

import io
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

from coilwright.veins import Affine, Comparison, NewVein, Stretch, VeinMap, Vessel
from coilwright.venogram.completion import ComparedRun
from coilwright.venogram.picture import INK, PAPER, SHOWN_PX, font_of, grey_of

Points = list[tuple[float, float]]

BESIDE_PX = 330
FOOT_PX = 40
# Okabe-Ito blue and vermilion; what does not fill is grey and thin, so that colour is not alone.
FILLS, NEW, EMPTY = (0, 114, 178), (213, 94, 0), (120, 120, 120)
STATE_WORDS = {"shut": "shut", "still-opacifies": "still opacifies", "not-shown": "not shown"}
LINE_CHARACTERS = 38


def picture_of_comparison(vein_map: VeinMap, compared: ComparedRun) -> bytes | None:
    """PNG; None where the run could not be laid on the map."""
    found, picture = compared.comparison, compared.opacification
    if picture is None or found.to_map_px is None:
        return None
    zoom = SHOWN_PX / max(picture.shape)
    grey = grey_of(picture, zoom)
    height, width = grey.shape
    canvas = Image.new("RGB", (width + BESIDE_PX, height + FOOT_PX), PAPER)
    canvas.paste(Image.fromarray(grey).convert("RGB"), (0, 0))
    draw = ImageDraw.Draw(canvas)
    for vessel in vein_map.vessels:
        _draw_vessel(draw, vessel, found, zoom)
    for vein in found.new_veins or ():
        _draw_new(draw, vein, vein_map, found.to_map_px, zoom)
    draw.rectangle((width, 0, width + BESIDE_PX, height + FOOT_PX), fill=PAPER)
    _draw_words(draw, _words(found), x=width + 20, y=24)
    draw.text((12, height + 10), found.disclaimer, fill=INK, font=font_of(14))
    buffer = io.BytesIO()
    canvas.save(buffer, format="PNG", optimize=True)
    return buffer.getvalue()


def _shown_at(
    points_px: Sequence[tuple[float, float]] | npt.NDArray[np.float64], to_map: Affine, zoom: float
) -> Points:
    """Points of the map's grid on the shown picture of the run."""
    ratio, shift = to_map[0][0], np.array([to_map[0][2], to_map[1][2]])
    points = (np.asarray(points_px, dtype=np.float64) - shift) / ratio
    return [(float(x), float(y)) for x, y in (points + 0.5) * zoom]


def _draw_vessel(draw: ImageDraw.ImageDraw, vessel: Vessel, found: Comparison, zoom: float) -> None:
    if found.to_map_px is None:
        return
    points = _shown_at(vessel.points_px, found.to_map_px, zoom)
    draw.line(points, fill=PAPER, width=4, joint="curve")
    draw.line(points, fill=EMPTY, width=2, joint="curve")
    for part in found.opacifies:
        if part.vessel == vessel.id:
            draw.line(_part(points, vessel, part), fill=FILLS, width=5, joint="curve")
    for zone in found.zones:
        if zone.zone.vessel == vessel.id and zone.name != vessel.id:
            course = _part(points, vessel, zone.zone)
            if len(course) > 1:
                beside = [(x - 22.0, y) for x, y in course]
                draw.line(beside, fill=INK, width=4)
                _label(draw, beside[len(beside) // 2], f"{zone.name}: {STATE_WORDS[zone.state]}")


def _part(points: Points, vessel: Vessel, part: Stretch) -> Points:
    return [
        point
        for point, arc in zip(points, vessel.arc_mm, strict=True)
        if part.from_mm <= arc <= part.to_mm
    ]


def _draw_new(
    draw: ImageDraw.ImageDraw, vein: NewVein, vein_map: VeinMap, to_map: Affine, zoom: float
) -> None:
    points = _shown_at(vein.points_px, to_map, zoom)
    draw.line(points, fill=PAPER, width=7, joint="curve")
    draw.line(points, fill=NEW, width=5 if vein.doubt is None else 2, joint="curve")
    # Its name stands where the zones' do not: at its end quarter, away from the vessel beside it.
    x, y = points[3 * len(points) // 4]
    beside = vein_map.vessel(vein.beside.vessel)
    along = _part(_shown_at(beside.points_px, to_map, zoom), beside, vein.beside)
    left = bool(along) and x < sum(place for place, _ in along) / len(along)
    draw.text(
        (x - 12 if left else x + 12, y),
        vein.id,
        fill=NEW,
        font=font_of(18),
        anchor="rm" if left else "lm",
        stroke_width=3,
        stroke_fill=PAPER,
    )


def _label(draw: ImageDraw.ImageDraw, at: tuple[float, float], text: str) -> None:
    x, y = at
    draw.text(
        (x - 8, y), text, fill=INK, font=font_of(16), anchor="rm", stroke_width=3, stroke_fill=PAPER
    )


def _words(found: Comparison) -> list[tuple[str, tuple[int, int, int]]]:
    comparable = "comparable" if found.comparable else "not comparable"
    words = [
        (f"{comparable} with the run before: {found.why}", INK),
        ("blue, thick: a vein of the map that opacifies", FILLS),
        ("grey, thin: a vein of the map, no contrast seen", EMPTY),
    ]
    if not found.new_veins:
        return [*words, ("veins not on the map: looked for, none seen in this run", INK)]
    words.append(("orange: contrast that is not on the map (thin: perhaps no vein)", NEW))
    return [*words, *((f"{vein.id}: {vein.text}", INK) for vein in found.new_veins)]


def _draw_words(
    draw: ImageDraw.ImageDraw,
    words: Sequence[tuple[str, tuple[int, int, int]]],
    *,
    x: int,
    y: int,
) -> None:
    for text, colour in words:
        for line in _wrapped(text):
            draw.text((x, y), line, fill=colour, font=font_of(16))
            y += 21
        y += 12


def _wrapped(text: str) -> list[str]:
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if len(longer) > LINE_CHARACTERS:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines
