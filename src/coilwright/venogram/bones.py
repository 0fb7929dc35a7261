"""Finding the place of one run on another by what stands on both: bone, before contrast.

The two pictures are compared by correlation under masks, over every shift at once: only what both
fields show counts, so that a table moved by half a picture is found too.
"""

import base64
import binascii
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy import fft

from coilwright.veins import RunPlace

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]
Lit = npt.NDArray[np.bool_]

SMALL_PX = 192
# Structures from some pixels to about a vertebra; slow shading is the beam's, not bone's.
FINE_SD_PX, COARSE_SD_PX = 1.0, 9.0
# Grey levels of a stored picture: 0 where the field was shut.
GREY_SPAN = 3.0
LEAST_OVERLAP = 0.15
# Below this the pictures have nothing in common (rendered patients against each other reach 0.61,
# one against himself breathing, shifted by half a picture and more, 0.85 and up); other places on
# the same spine stay below the best one by the second figure.
LEAST_CORRELATION = 0.7
LEAST_LEAD = 0.06
NEIGHBOUR_PX = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Bones:
    """A small picture of what stands still; ``px`` is how many of the run's pixels one is."""

    picture: Float
    lit: Lit
    px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """``shift_xy`` carries the moving run's pixels onto the fixed run's; correlation 0 to 1."""

    shift_xy: tuple[float, float]
    correlation: float
    overlap: float


def bones_of(mask: Float, lit: Lit, px_ratio: float = 1.0) -> Bones:
    """The bones of a run's mask picture (absorption), shrunk.

    ``px_ratio`` is the run's pixel over the pixel of the run that it will be laid on: the picture
    comes out in that run's pixels.
    """
    px = max(mask.shape) * px_ratio / SMALL_PX
    factor = px_ratio / px
    small = np.asarray(
        cv2.resize(mask, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA), np.float32
    )
    shown = cv2.resize(lit.astype(np.float32), small.shape[::-1], interpolation=cv2.INTER_AREA)
    inside = cv2.erode((shown > 0.99).astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    return Bones(picture=_band(small, inside), lit=inside, px=px)


def _band(picture: Float, inside: Lit) -> Float:
    """What lies between fine and coarse, in units of its own spread, 0 outside."""

    def smooth(sd_px: float) -> Float:
        weight = cv2.GaussianBlur(inside.astype(np.float32), (0, 0), sd_px)
        blurred = cv2.GaussianBlur(np.where(inside, picture, 0).astype(np.float32), (0, 0), sd_px)
        return np.asarray(blurred / np.maximum(weight, 1e-3), dtype=np.float32)

    band = np.where(inside, smooth(FINE_SD_PX) - smooth(COARSE_SD_PX), np.float32(0.0))
    spread = float(band[inside].std()) if inside.any() else 0.0
    limited = np.clip(band / max(spread, 1e-9), -GREY_SPAN, GREY_SPAN)
    return np.asarray(limited, dtype=np.float32)


def stored(place: RunPlace, bones: Bones) -> RunPlace:
    """The place with the bones kept in it, for a run that comes later."""
    grey = 128.0 + 127.0 * bones.picture / GREY_SPAN
    coded = np.where(bones.lit, np.clip(np.rint(grey), 1, 255), 0).astype(np.uint8)
    _, png = cv2.imencode(".png", coded, [cv2.IMWRITE_PNG_COMPRESSION, 9])
    return replace(
        place,
        bones_png=base64.b64encode(png.tobytes()).decode("ascii"),
        bones_px=round(bones.px, 6),
    )


def kept_bones(place: RunPlace | None) -> Bones | None:
    """The bones that a map keeps of a run; None where it keeps none that can be read."""
    if place is None or place.bones_png is None or place.bones_px is None:
        return None
    try:
        data = np.frombuffer(base64.b64decode(place.bones_png, validate=True), np.uint8)
        grey = cv2.imdecode(data, cv2.IMREAD_GRAYSCALE)
    except (binascii.Error, cv2.error):
        return None
    if grey is None or not place.bones_px > 0:
        return None
    lit = grey > 0
    picture = np.where(lit, (grey.astype(np.float32) - 128.0) * GREY_SPAN / 127.0, np.float32(0.0))
    return Bones(picture=picture, lit=lit, px=place.bones_px)


def find_place(moving: Bones, fixed: Bones) -> Found | None:
    """Where the moving run lies on the fixed one; None where no one place stands out."""
    if not (moving.lit.any() and fixed.lit.any()):
        return None
    scaled = _at_px(moving, fixed.px)
    correlation, overlap = _masked_correlation(fixed, scaled)
    at = _highest(correlation)
    best = float(correlation[at])
    if best < LEAST_CORRELATION or best - _next_best(correlation, at) < LEAST_LEAD:
        return None
    return _found(correlation, overlap, at, scaled)


def find_near(
    moving: Bones, fixed: Bones, shift_xy: tuple[float, float], reach_px: float
) -> Found | None:
    """The best place within ``reach_px`` of an expected shift; None where the bones say no."""
    if not (moving.lit.any() and fixed.lit.any()):
        return None
    scaled = _at_px(moving, fixed.px)
    correlation, overlap = _masked_correlation(fixed, scaled)
    rows, columns = scaled.picture.shape
    y, x = np.indices(correlation.shape)
    away_y = (y - (rows - 1)) * fixed.px - shift_xy[1]
    away_x = (x - (columns - 1)) * fixed.px - shift_xy[0]
    near = np.where(np.hypot(away_x, away_y) <= reach_px, correlation, -1.0)
    at = _highest(near)
    return _found(correlation, overlap, at, scaled) if near[at] >= LEAST_CORRELATION else None


def _highest(correlation: Array) -> tuple[int, int]:
    row, column = np.unravel_index(int(np.argmax(correlation)), correlation.shape)
    return int(row), int(column)


def _found(correlation: Array, overlap: Array, at: tuple[int, int], scaled: Bones) -> Found:
    row, column = at
    rows, columns = scaled.picture.shape
    y = row - (rows - 1) + _top(correlation[:, column], row)
    x = column - (columns - 1) + _top(correlation[row], column)
    return Found(
        shift_xy=(x * scaled.px, y * scaled.px),
        correlation=float(correlation[at]),
        overlap=float(overlap[at]),
    )


def _at_px(bones: Bones, px: float) -> Bones:
    if abs(bones.px / px - 1.0) < 1e-6:
        return bones
    factor = bones.px / px
    picture = cv2.resize(bones.picture, None, fx=factor, fy=factor, interpolation=cv2.INTER_LINEAR)
    lit = cv2.resize(bones.lit.astype(np.float32), picture.shape[::-1]) > 0.99
    return Bones(picture=np.where(lit, picture, np.float32(0.0)).astype(np.float32), lit=lit, px=px)


def _masked_correlation(fixed: Bones, moving: Bones) -> tuple[Array, Array]:
    """Correlation and overlap (share of the smaller field) for every shift; -1 where too small.

    References
    ----------
    Padfield D. Masked object registration in the Fourier domain. IEEE Trans Image Process
    2012;21:2706-2718.
    """
    shape = [a + b - 1 for a, b in zip(fixed.picture.shape, moving.picture.shape, strict=True)]
    size = [fft.next_fast_len(n, real=True) for n in shape]

    def spectrum(values: npt.NDArray[np.floating], *, flipped: bool) -> npt.NDArray[np.complex128]:
        values = values[::-1, ::-1] if flipped else values
        return np.asarray(fft.rfft2(values.astype(np.float64), size))

    def summed(one: npt.NDArray[np.complex128], two: npt.NDArray[np.complex128]) -> Array:
        return np.asarray(fft.irfft2(one * two, size)[: shape[0], : shape[1]])

    f, m = fixed.picture.astype(np.float64), moving.picture.astype(np.float64)
    f_lit = spectrum(fixed.lit.astype(np.float64), flipped=False)
    m_lit = spectrum(moving.lit.astype(np.float64), flipped=True)
    f_one, f_two = spectrum(f, flipped=False), spectrum(f**2, flipped=False)
    m_one, m_two = spectrum(m, flipped=True), spectrum(m**2, flipped=True)
    count = np.maximum(summed(f_lit, m_lit), 1e-9)
    f_sum, m_sum = summed(f_one, m_lit), summed(f_lit, m_one)
    product = summed(f_one, m_one) - f_sum * m_sum / count
    spread = (summed(f_two, m_lit) - f_sum**2 / count) * (summed(f_lit, m_two) - m_sum**2 / count)
    overlap = count / min(fixed.lit.sum(), moving.lit.sum())
    enough = (overlap >= LEAST_OVERLAP) & (spread > 1e-6)
    correlation = np.where(enough, product / np.sqrt(np.maximum(spread, 1e-12)), -1.0)
    return correlation, overlap


def _next_best(correlation: Array, at: tuple[int, int]) -> float:
    """The best correlation that does not belong to the same peak."""
    row, column = at
    elsewhere = correlation.copy()
    elsewhere[
        max(row - NEIGHBOUR_PX, 0) : row + NEIGHBOUR_PX + 1,
        max(column - NEIGHBOUR_PX, 0) : column + NEIGHBOUR_PX + 1,
    ] = -1.0
    return float(elsewhere.max())


def _top(values: Array, at: int) -> float:
    """Offset of a parabola's top from the sample ``at``."""
    if not 0 < at < len(values) - 1:
        return 0.0
    low, middle, high = (float(v) for v in values[at - 1 : at + 2])
    bend = low - 2.0 * middle + high
    return float(np.clip(0.5 * (low - high) / bend, -0.5, 0.5)) if bend < 0 else 0.0
