"""Samples along a centreline: calibre with its uncertainty, and the opacity there."""

from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d
from scipy.spatial import cKDTree

from coilwright.venogram.blur import Blur
from coilwright.venogram.calibre import fit_cylinders
from coilwright.venogram.centreline import Centreline
from coilwright.venogram.course import straighten
from coilwright.venogram.edge_width import edge_width_sd_px, edge_widths

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

SAMPLE_STEP_MM = 0.5
WINDOW_SD_MM = 0.8
# Neighbouring pixels share noise after resampling and blur: residuals understate it.
NOISE_INFLATION = 1.6
# What remains when noise is gone (profile not quite a blurred circle), measured on rendered runs.
MODEL_RELATIVE_SD = 0.006
MODEL_SD_PX = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """Parallel arrays, one item per sample; NaN where nothing could be fitted.

    ``at`` is the index into the centreline's course; ``diameter_sd_px`` is that of the fit alone.
    """

    at: Array
    points_xy: Array
    radius_px: Array
    diameter_px: Array
    diameter_sd_px: Array
    peak_opacity: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What lies near a vessel: other vessels, and the catheter inside it (pictures, or None)."""

    others: Float
    catheter: Float | None


def sample_centreline(
    picture: Float,
    line: Centreline,
    near: Surroundings,
    blur: Blur,
    mm_per_pixel: float,
    *,
    densitometric: bool,
) -> Samples:
    """Calibre every half millimetre, each from a short window of neighbouring profiles.

    ``picture`` is (rows, columns) of absorption; without densitometry the edge width is taken.
    """
    course = line.course
    count = max(2, int(np.ceil(course.length_px * mm_per_pixel / SAMPLE_STEP_MM)) + 1)
    at = np.linspace(0, len(course.arc_px) - 1, count)
    columns = np.arange(len(course.arc_px))
    radius = np.interp(at, columns, line.radius_px)
    half = 1.8 * float(line.radius_px.max()) + 4.0 * blur.sigma_px + 3.0
    across = np.linspace(-half, half, 2 * int(np.ceil(half)) + 1)
    window = max(WINDOW_SD_MM / mm_per_pixel, 1.0)

    def profiles_of(image: Float, order: int = 3) -> Array:
        strip = straighten(image, course, across, order=order)
        smooth = gaussian_filter1d(strip, window, axis=0, mode="nearest")
        return np.asarray(smooth[np.rint(at).astype(int)])

    empty = Samples(
        at=at,
        points_xy=np.column_stack([np.interp(at, columns, course.points_xy[:, k]) for k in (0, 1)]),
        radius_px=radius,
        diameter_px=np.full(count, np.nan),
        diameter_sd_px=np.full(count, np.nan),
        peak_opacity=np.full(count, np.nan),
    )
    profiles = profiles_of(picture)
    if not densitometric:
        return _by_edges(empty, profiles, across)
    weights = _weights(profiles_of(near.others, order=1), across, radius, blur.sigma_px)
    nuisance = None if near.catheter is None else profiles_of(near.catheter)
    return _by_profile(empty, profiles, across, weights, blur, nuisance)


def _by_edges(empty: Samples, profiles: Array, across: Array) -> Samples:
    widths = edge_widths(profiles, across, empty.radius_px)
    middle = profiles[:, np.abs(across) <= 1.0].mean(1)
    return replace(
        empty,
        diameter_px=widths,
        diameter_sd_px=edge_width_sd_px(widths),
        peak_opacity=np.where(np.isfinite(widths), middle, np.nan),
    )


def _by_profile(
    empty: Samples,
    profiles: Array,
    across: Array,
    weights: Array,
    blur: Blur,
    nuisance: Array | None,
) -> Samples:
    shape = blur.chains[0].shape()
    fits = fit_cylinders(profiles, across, weights, shape, empty.radius_px, nuisance)
    limit = 0.6 * empty.radius_px + 2.0
    good = (
        (fits.peak_opacity > 3.0 * fits.residual_sd)
        & (fits.radius_px > 0.7)
        & (np.abs(fits.offset_px) < limit)
        & (fits.radius_sd_px < 0.5 * fits.radius_px)
    )
    diameter = np.where(good, 2.0 * fits.radius_px, np.nan)
    model = np.hypot(MODEL_RELATIVE_SD * diameter, MODEL_SD_PX)
    return replace(
        empty,
        diameter_px=diameter,
        diameter_sd_px=np.hypot(2.0 * NOISE_INFLATION * fits.radius_sd_px, model),
        peak_opacity=np.where(good, fits.peak_opacity, np.nan),
    )


def _weights(others: Array, across: Array, radius: Array, sigma_px: float) -> Array:
    """1 within reach of the vein and clear of other vessels, else 0."""
    reach = 1.8 * radius[:, None] + 3.0 * sigma_px + 2.0
    inside = np.abs(across)[None, :] <= reach
    own = np.abs(across)[None, :] <= radius[:, None]
    return np.where(inside & (own | (others < 0.25)), 1.0, 0.0)


def footprint(shape: tuple[int, int], lines: list[Centreline], margin_px: float) -> Float:
    """1 where any of the centrelines' vessels lies, margin included, else 0."""
    drawn = np.zeros(shape, np.uint8)
    for line in lines:
        for (x, y), radius in zip(line.course.points_xy[::2], line.radius_px[::2], strict=True):
            centre = (round(float(x)), round(float(y)))
            cv2.circle(drawn, centre, max(1, round(float(radius) + margin_px)), 1, -1)
    return drawn.astype(np.float32)


def tube_picture(
    shape: tuple[int, int], points_xy: Array, radius_px: float, sigma_px: float
) -> Float:
    """Blurred chord of a tube along points, as a picture: what a catheter displaces."""
    near = np.zeros(shape, np.uint8)
    for x, y in points_xy[::2]:
        cv2.circle(near, (round(float(x)), round(float(y))), int(radius_px + 4), 1, -1)
    rows, columns = np.nonzero(near)
    distance, _ = cKDTree(points_xy).query(np.column_stack([columns, rows]))
    picture = np.zeros(shape, np.float32)
    picture[rows, columns] = np.sqrt(np.maximum(radius_px**2 - distance**2, 0.0))
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), sigma_px), dtype=np.float32)
