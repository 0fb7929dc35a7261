"""Ridges at many scales: where a picture holds something long, bright and narrow."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Float = npt.NDArray[np.float32]

SCALES_PX = (1.2, 1.7, 2.4, 3.4, 4.8, 6.8, 9.6, 13.6)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ridges:
    """``strength`` in units of the picture, ``over_noise`` in standard deviations of chance.

    ``scale_px`` is the scale at which each pixel answered strongest: near the radius of what lies
    there.
    """

    strength: Float
    over_noise: Float
    scale_px: Float


def find_ridges(picture: Float, scales_px: tuple[float, ...] = SCALES_PX) -> Ridges:
    """Strongest ridge answer over the scales, (rows, columns).

    References
    ----------
    Second derivatives at scale: Lindeberg T. Edge detection and ridge detection with automatic
    scale selection. Int J Comput Vis 1998;30:117-156.
    """
    strength = np.zeros_like(picture)
    over_noise = np.zeros_like(picture)
    scale = np.full_like(picture, scales_px[0])
    for scale_px in scales_px:
        answer = _ridge_at(picture, scale_px)
        noise = float(np.median(np.abs(answer[::3, ::3]))) / 0.6745 + 1e-12
        ridge = np.maximum(answer, np.float32(0.0))
        np.copyto(scale, np.float32(scale_px), where=ridge > strength)
        np.maximum(strength, ridge, out=strength)
        ridge *= np.float32(1.0 / noise)
        np.maximum(over_noise, ridge, out=over_noise)
    return Ridges(strength=strength, over_noise=over_noise, scale_px=scale)


def _ridge_at(picture: Float, scale_px: float) -> Float:
    """Scale-normalised downward curvature across a ridge; blobs and dips count less."""
    shrink = 2 if scale_px >= 4.0 else 1
    if scale_px >= 9.0:
        shrink = 4
    small = cv2.resize(picture, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    sigma = scale_px / shrink
    smooth = cv2.GaussianBlur(small, (0, 0), sigma)
    # A quarter makes derivatives of Sobel's sums, a half the mean and the spread of the axes.
    xx = cv2.Sobel(smooth, cv2.CV_32F, 2, 0, ksize=3, scale=0.125 * sigma**2)
    yy = cv2.Sobel(smooth, cv2.CV_32F, 0, 2, ksize=3, scale=0.125 * sigma**2)
    xy = cv2.Sobel(smooth, cv2.CV_32F, 1, 1, ksize=3, scale=0.25 * sigma**2)
    mean, spread = xx + yy, cv2.magnitude(xx - yy, xy)
    across, along = mean - spread, mean + spread
    answer = -across - np.abs(along)
    if shrink > 1:
        answer = cv2.resize(
            answer, (picture.shape[1], picture.shape[0]), interpolation=cv2.INTER_LINEAR
        )
    return np.asarray(answer, dtype=np.float32)
