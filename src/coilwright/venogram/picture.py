"""The subtracted run with its map over it, coloured by calibre, as PNG."""

import io
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw, ImageFont

from coilwright.veins import Calibration, CalibrationMethod, VeinMap, Vessel, VesselKind
from coilwright.venogram.measure import MeasuredRunFile

SHOWN_PX = 1000
MARGIN_PX = 250
FOOT_PX = 56
PAPER = (250, 250, 248)
INK = (28, 36, 48)
# Okabe-Ito vermilion: the one mark that is not calibre.
TIP = (213, 94, 0)
SCALE_BAR_MM = 20.0
METHOD_WORDS = {
    CalibrationMethod.CATHETER: "by the catheter",
    CalibrationMethod.RULER: "by a ruler",
    CalibrationMethod.HEADER_GEOMETRY: "by the header's geometry",
    CalibrationMethod.GIVEN: "as given",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibreScale:
    """Colours for calibres from ``low_mm`` to ``high_mm``: cividis, even to the eye."""

    low_mm: float
    high_mm: float

    def colours(self, diameters_mm: npt.NDArray[np.float64]) -> npt.NDArray[np.uint8]:
        """RGB (N, 3) of each diameter."""
        part = (diameters_mm - self.low_mm) / (self.high_mm - self.low_mm)
        level = (np.clip(part, 0.0, 1.0) * 255).astype(np.uint8)[:, None]
        bgr = cv2.applyColorMap(level, cv2.COLORMAP_CIVIDIS)[:, 0, :]
        return np.asarray(bgr[:, ::-1], dtype=np.uint8)


def calibre_scale(vein_map: VeinMap) -> CalibreScale:
    """A scale in whole millimetres that holds every calibre of the map."""
    known = [d for v in vein_map.vessels for d in v.diameter_mm if d is not None]
    if not known:
        return CalibreScale(low_mm=0.0, high_mm=8.0)
    low, high = np.floor(np.percentile(known, 1)), np.ceil(np.percentile(known, 99))
    return CalibreScale(low_mm=float(low), high_mm=float(max(high, low + 2.0)))


def picture_of_map(measured: MeasuredRunFile) -> bytes:
    """PNG of the contrast with the map over it and a scale of calibre beside it."""
    measured = _from_its_corner(measured)
    zoom = SHOWN_PX / max(measured.opacification.shape)
    grey = grey_of(measured.opacification, zoom)
    height, width = grey.shape
    canvas = Image.new("RGB", (width + MARGIN_PX, height + FOOT_PX), PAPER)
    canvas.paste(Image.fromarray(grey).convert("RGB"), (0, 0))
    draw = ImageDraw.Draw(canvas)
    scale = calibre_scale(measured.vein_map)
    for vessel in measured.vein_map.vessels:
        if vessel.kind is VesselKind.TANGLE:
            _draw_region(draw, vessel, zoom)
    for vessel in reversed(measured.vein_map.vessels):
        _draw_vessel(draw, vessel, scale, zoom)
    for vessel in measured.vein_map.vessels:
        _draw_name(draw, vessel, zoom)
    _draw_catheter(draw, measured.vein_map, zoom)
    _draw_colour_bar(draw, scale, x=width + 28, y=56, height=min(420, height // 2))
    _draw_legend(draw, measured.vein_map, x=width + 28, y=min(420, height // 2) + 100)
    _draw_foot(draw, measured.vein_map, zoom, y=height)
    buffer = io.BytesIO()
    canvas.save(buffer, format="PNG", optimize=True)
    return buffer.getvalue()


def _from_its_corner(measured: MeasuredRunFile) -> MeasuredRunFile:
    """The map in the grid of its picture, which begins elsewhere where several runs were joined."""
    left, top = measured.picture_starts_px
    if (left, top) == (0.0, 0.0):
        return measured
    vein_map = measured.vein_map
    vessels = tuple(
        replace(vessel, points_px=tuple((x - left, y - top) for x, y in vessel.points_px))
        for vessel in vein_map.vessels
    )
    tip = vein_map.catheter.tip_px
    moved = None if tip is None else (tip[0] - left, tip[1] - top)
    catheter = replace(vein_map.catheter, tip_px=moved)
    return replace(measured, vein_map=replace(vein_map, vessels=vessels, catheter=catheter))


def font_of(size_px: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """The library's own font."""
    return ImageFont.load_default(size_px)


def grey_of(picture: npt.NDArray[np.float32], zoom: float) -> npt.NDArray[np.uint8]:
    """Contrast as dark on light grey, enlarged."""
    low, high = np.percentile(picture, (2.0, 99.9))
    bright = 235.0 - 190.0 * np.clip((picture - low) / max(high - low, 1e-9), 0.0, 1.0)
    kind = cv2.INTER_CUBIC if zoom > 1 else cv2.INTER_AREA
    shown = cv2.resize(bright.astype(np.float32), None, fx=zoom, fy=zoom, interpolation=kind)
    return np.asarray(np.clip(shown, 0, 255), dtype=np.uint8)


def _draw_vessel(
    draw: ImageDraw.ImageDraw, vessel: Vessel, scale: CalibreScale, zoom: float
) -> None:
    """The centreline coloured by calibre; grey where the calibre is not known."""
    points = [((x + 0.5) * zoom, (y + 0.5) * zoom) for x, y in vessel.points_px]
    known = np.array([np.nan if d is None else d for d in vessel.diameter_mm])
    colours = scale.colours(np.nan_to_num(known))
    line = 5 if vessel.kind is VesselKind.TRUNK else 3
    draw.line(points, fill=PAPER, width=line + 3, joint="curve")
    for a, b, diameter, colour in zip(points, points[1:], known, colours, strict=False):
        fill = (150, 150, 150) if np.isnan(diameter) else tuple(int(c) for c in colour)
        draw.line([a, b], fill=fill, width=line)


def _draw_region(draw: ImageDraw.ImageDraw, vessel: Vessel, zoom: float) -> None:
    """The outline of a tangle: its strands are one place, not vessels to be told apart."""
    points = (np.array(vessel.points_px) + 0.5) * zoom
    hull = cv2.convexHull(points.astype(np.float32))[:, 0, :]
    outline = [(float(x), float(y)) for x, y in [*hull, hull[0]]]
    draw.line(outline, fill=PAPER, width=5, joint="curve")
    draw.line(outline, fill=INK, width=2, joint="curve")


def _draw_name(draw: ImageDraw.ImageDraw, vessel: Vessel, zoom: float) -> None:
    """The id of what is not the trunk, beside its far half."""
    if vessel.kind is VesselKind.TRUNK:
        return
    x, y = (value * zoom for value in vessel.points_px[2 * len(vessel.points_px) // 3])
    box = draw.textbbox((x + 12, y - 8), vessel.id, font=font_of(15))
    draw.rectangle((box[0] - 3, box[1] - 2, box[2] + 3, box[3] + 2), fill=PAPER)
    draw.text((x + 12, y - 8), vessel.id, fill=INK, font=font_of(15))


def _draw_catheter(draw: ImageDraw.ImageDraw, vein_map: VeinMap, zoom: float) -> None:
    if vein_map.catheter.tip_px is None:
        return
    x, y = ((value + 0.5) * zoom for value in vein_map.catheter.tip_px)
    draw.ellipse((x - 8, y - 8, x + 8, y + 8), outline=TIP, width=3)
    draw.line((x + 9, y, x + 40, y), fill=TIP, width=3)
    draw.text((x + 46, y - 10), "catheter tip", fill=TIP, font=font_of(18))


def _draw_colour_bar(
    draw: ImageDraw.ImageDraw, scale: CalibreScale, *, x: int, y: int, height: int
) -> None:
    draw.text((x, y - 36), "calibre, mm", fill=INK, font=font_of(20))
    values = np.linspace(scale.high_mm, scale.low_mm, height)
    for row, colour in enumerate(scale.colours(values)):
        draw.line((x, y + row, x + 30, y + row), fill=tuple(int(c) for c in colour))
    for value in np.arange(scale.low_mm, scale.high_mm + 0.5, 1.0):
        part = (scale.high_mm - value) / (scale.high_mm - scale.low_mm)
        at = y + part * (height - 1)
        draw.line((x + 30, at, x + 38, at), fill=INK, width=2)
        draw.text((x + 44, at - 10), f"{value:g}", fill=INK, font=font_of(18))


def _draw_legend(draw: ImageDraw.ImageDraw, vein_map: VeinMap, *, x: int, y: int) -> None:
    mm = vein_map.calibration.mm_per_pixel
    lines = [_vessel_line(vessel, mm) for vessel in vein_map.vessels[:8]]
    if len(vein_map.vessels) > 8:
        lines.append(f"and {len(vein_map.vessels) - 8} more")
    draw.text((x, y), "projected lengths", fill=INK, font=font_of(16))
    draw.text((x, y + 20), "(the true ones are longer)", fill=INK, font=font_of(16))
    for row, line in enumerate(lines):
        draw.text((x, y + 50 + 24 * row), line, fill=INK, font=font_of(16))


def _vessel_line(vessel: Vessel, mm_per_pixel: float) -> str:
    if vessel.kind is VesselKind.TANGLE:
        across, down = np.ptp(np.array(vessel.points_px), axis=0) * mm_per_pixel
        return f"{vessel.id}: {across:.0f} x {down:.0f} mm"
    return f"{vessel.id}: {vessel.length_mm:.0f} mm"


def scale_sentence(calibration: Calibration) -> str:
    """How the scale was taken and how sure it is, in one line."""
    catheter = (
        f" ({calibration.catheter_words})"
        if calibration.method is CalibrationMethod.CATHETER and calibration.catheter_fr
        else ""
    )
    method = METHOD_WORDS[calibration.method]
    return (
        f"{calibration.mm_per_pixel:.4f} mm per pixel {method}{catheter}, "
        f"one standard deviation {calibration.relative_sd:.1%}"
    )


def _draw_foot(draw: ImageDraw.ImageDraw, vein_map: VeinMap, zoom: float, *, y: int) -> None:
    length = SCALE_BAR_MM / vein_map.calibration.mm_per_pixel * zoom
    draw.rectangle((16, y + 14, 16 + length, y + 20), fill=INK)
    draw.text((16, y + 26), f"{SCALE_BAR_MM:g} mm", fill=INK, font=font_of(18))
    side = f"side: {vein_map.side.value}" if vein_map.side else "side: not stated"
    text = f"{scale_sentence(vein_map.calibration)}; {side}"
    draw.text((16 + length + 30, y + 16), text, fill=INK, font=font_of(18))
