"""The plan's levels drawn on the picture of the map, as numbered steps."""

import io

from PIL import Image, ImageDraw, ImageFont

from coilwright.planning import Level, OcclusionPlan
from coilwright.venogram import MeasuredRunFile
from coilwright.venogram.picture import INK, PAPER, SHOWN_PX

Point = tuple[float, float]
BESIDE_PX = 26.0
BADGE_PX = 15.0


def with_steps(picture: bytes, measured: MeasuredRunFile, plan: OcclusionPlan) -> bytes:
    """The PNG with a bar beside each landing zone and the level's number at it."""
    if not plan.levels:
        return picture
    with Image.open(io.BytesIO(picture)) as opened:
        canvas = opened.convert("RGB")
    draw = ImageDraw.Draw(canvas)
    zoom = SHOWN_PX / max(measured.opacification.shape)
    for level in plan.levels:
        _draw_level(draw, level, measured, zoom)
    buffer = io.BytesIO()
    canvas.save(buffer, format="PNG", optimize=True)
    return buffer.getvalue()


def _draw_level(
    draw: ImageDraw.ImageDraw, level: Level, measured: MeasuredRunFile, zoom: float
) -> None:
    vessel = measured.vein_map.vessel(level.zone.vessel)
    left, top = measured.picture_starts_px
    course = [
        ((x - left + 0.5) * zoom - BESIDE_PX, (y - top + 0.5) * zoom)
        for (x, y), at_mm in zip(vessel.points_px, vessel.arc_mm, strict=True)
        if level.zone.from_mm <= at_mm <= level.zone.to_mm
    ]
    if len(course) < 2:
        return
    draw.line(course, fill=PAPER, width=9, joint="curve")
    draw.line(course, fill=INK, width=5, joint="curve")
    x, y = course[len(course) // 2]
    _badge(draw, (x - BADGE_PX - 8, y), str(level.order))


def _badge(draw: ImageDraw.ImageDraw, centre: Point, text: str) -> None:
    x, y = centre
    box = (x - BADGE_PX, y - BADGE_PX, x + BADGE_PX, y + BADGE_PX)
    draw.ellipse(box, fill=INK, outline=PAPER, width=2)
    draw.text((x, y), text, fill=PAPER, font=ImageFont.load_default(20), anchor="mm")
