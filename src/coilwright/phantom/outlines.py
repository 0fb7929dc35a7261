"""Shapes of bone and gas as optical depth, from smooth closed outlines.

Outlines are (N, 2) millimetres in the isocentre's plane. Edges are soft over about a
millimetre, so one sample per pixel is enough for them.
"""

import cv2
import numpy as np
from scipy.interpolate import CubicSpline

from coilwright.phantom.geometry import Cone, Floats

_EDGE_MM = 0.45
_CORTEX_MM = 0.9
_ROUNDING_MM = 9.0
_FIXED_POINT_BITS = 6


def smooth_outline(corners_mm: Floats) -> Floats:
    """A closed smooth curve (N, 2) through (K, 2) corners."""
    closed = np.vstack([corners_mm, corners_mm[:1]])
    steps_mm = np.linalg.norm(np.diff(closed, axis=0), axis=1)
    # Centripetal spacing keeps the curve from overshooting at uneven corners.
    at = np.concatenate([[0.0], np.cumsum(np.sqrt(steps_mm))])
    curve = CubicSpline(at, closed, bc_type="periodic")
    return np.asarray(curve(np.linspace(0.0, at[-1], 12 * len(corners_mm))))


def ellipse(
    centre_mm: tuple[float, float], radii_mm: tuple[float, float], turn_deg: float
) -> Floats:
    """The outline of an ellipse."""
    angle = np.linspace(0.0, 2 * np.pi, 72, endpoint=False)
    turn = np.deg2rad(turn_deg)
    flat = np.column_stack([radii_mm[0] * np.cos(angle), radii_mm[1] * np.sin(angle)])
    rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    return np.asarray(flat @ rotation + np.asarray(centre_mm))


def lobed(centre_mm: tuple[float, float], radius_mm: float, random: np.random.Generator) -> Floats:
    """The outline of an uneven rounded body, as a gut loop shows its gas."""
    angle = np.linspace(0.0, 2 * np.pi, 90, endpoint=False)
    reach = np.ones(90)
    for waves, most in ((2, 0.32), (3, 0.2), (4, 0.12), (5, 0.08)):
        reach += most * random.uniform(0.0, 1.0) * np.cos(waves * angle + random.uniform(0.0, 6.3))
    around = np.column_stack([np.cos(angle), np.sin(angle)])
    return np.asarray(radius_mm * np.maximum(reach, 0.3)[:, None] * around + centre_mm)


def band(line_mm: Floats, width_mm: float) -> Floats:
    """The outline of a band of a width along an open line."""
    at = np.arange(len(line_mm))
    curve = CubicSpline(at, line_mm)
    points = curve(np.linspace(0, at[-1], 40))
    along = np.gradient(points, axis=0)
    across = np.column_stack([-along[:, 1], along[:, 0]])
    across /= np.linalg.norm(across, axis=1, keepdims=True)
    half = 0.5 * width_mm * across
    return np.vstack([points + half, (points - half)[::-1]])


def add_bone(
    depth: Floats,
    cone: Cone,
    outline_mm: Floats,
    body: float,
    cortex: float,
    cortex_mm: float = _CORTEX_MM,
) -> None:
    """Add a bone's optical depth in place: rounded body, denser rim fading inwards."""
    found = _inside_mm(depth, cone, outline_mm)
    if found is None:
        return
    window, inside_mm = found
    within = 1.0 / (1.0 + np.exp(np.clip(-inside_mm / _EDGE_MM, -50.0, 50.0)))
    round_off = 0.45 + 0.55 * np.clip(inside_mm / _ROUNDING_MM, 0.0, 1.0)
    rim = np.exp(-np.maximum(inside_mm, 0.0) / cortex_mm)
    depth[window] += within * (body * round_off + cortex * rim)


def add_ball(depth: Floats, cone: Cone, outline_mm: Floats, middle: float) -> None:
    """Add a rounded body's optical depth in place; ``middle`` is negative for gas."""
    found = _inside_mm(depth, cone, outline_mm)
    if found is None:
        return
    window, inside_mm = found
    widest_mm = max(float(inside_mm.max()), 0.5)
    share = np.clip((inside_mm + 0.5) / widest_mm, 0.0, 1.0)
    depth[window] += middle * (share * (2.0 - share)) ** 0.7


def _inside_mm(
    depth: Floats, cone: Cone, outline_mm: Floats
) -> tuple[tuple[slice, slice], Floats] | None:
    """The window of pixels about an outline and their distance inside it (negative outside)."""
    pitch_mm = cone.isocentre_mm_per_pixel
    outline_px = outline_mm / pitch_mm + cone.centre_px
    rows, columns = depth.shape
    margin = 5.0 / pitch_mm
    low = np.floor(outline_px.min(axis=0) - margin).astype(int)
    high = np.ceil(outline_px.max(axis=0) + margin).astype(int)
    first = np.clip(low, 0, [columns, rows])
    last = np.clip(high, 0, [columns, rows])
    if np.any(last - first < 2):
        return None
    # The whole outline is drawn, also beyond the picture, so that its rim is not cut off.
    whole = np.zeros((high - low)[::-1], dtype=np.uint8)
    fixed = np.round((outline_px - low) * 2**_FIXED_POINT_BITS).astype(np.int32)
    cv2.fillPoly(whole, [fixed], 1, shift=_FIXED_POINT_BITS)
    inside = cv2.distanceTransform(whole, cv2.DIST_L2, 5)
    outside = cv2.distanceTransform(1 - whole, cv2.DIST_L2, 5)
    signed_px = cv2.GaussianBlur((inside - outside).astype(np.float64), (0, 0), 1.0)
    cut = (slice(first[1] - low[1], last[1] - low[1]), slice(first[0] - low[0], last[0] - low[0]))
    window = (slice(first[1], last[1]), slice(first[0], last[0]))
    return window, np.asarray(signed_px[cut] * pitch_mm, dtype=np.float64)
