"""Pictures drawn from closed forms for the tests, by supersampling: no code of the engine."""

import cv2
import numpy as np
import numpy.typing as npt

Float = npt.NDArray[np.float32]


def straight_tube(
    *,
    radius_px: float,
    sigma_px: float,
    peak: float,
    angle_deg: float,
    lumen: float = 0.0,
    size_px: int = 200,
    noise: float = 0.0,
    veil: float = 0.0,
    seed: int = 0,
) -> Float:
    """Absorption of a straight tube through the middle, turned by an angle from the vertical."""
    off = _off_axis(size_px, angle_deg)
    chord = 2 * np.sqrt(np.maximum(radius_px**2 - off**2, 0))
    chord -= 2 * np.sqrt(np.maximum((lumen * radius_px) ** 2 - off**2, 0))
    intensity = np.exp(-peak * chord / chord.max())
    coarse = cv2.resize(intensity, (size_px, size_px), interpolation=cv2.INTER_AREA)
    blurred = cv2.GaussianBlur(coarse, (0, 0), sigma_px)
    arriving = (1 - veil) * blurred + veil
    grain = np.random.default_rng(seed).normal(size=arriving.shape) * noise
    return np.asarray(-np.log(arriving) + grain, dtype=np.float32)


def _off_axis(size_px: int, angle_deg: float) -> npt.NDArray[np.float64]:
    """Distance of each of 6 x 6 points in every pixel from the axis of `straight_tube`."""
    fine = 6
    row, column = np.mgrid[: size_px * fine, : size_px * fine].astype(np.float64)
    row, column = (row + 0.5) / fine - 0.5, (column + 0.5) / fine - 0.5
    angle = np.deg2rad(angle_deg)
    middle = (size_px - 1) / 2 + 0.3
    return np.asarray((column - middle) * np.cos(angle) + (row - middle) * np.sin(angle))


def tube_axis(size_px: int, angle_deg: float, reach_px: float) -> npt.NDArray[np.float64]:
    """Points (x, y) on the axis of `straight_tube`, six pixels apart."""
    angle = np.deg2rad(angle_deg)
    middle = (size_px - 1) / 2 + 0.3
    t = np.arange(-reach_px, reach_px + 1e-9, 6.0)
    return np.column_stack([middle - t * np.sin(angle), middle + t * np.cos(angle)])


def effective_sigma_px(sigma_px: float) -> float:
    """Blur with the pixel's own aperture: a box of one pixel has a variance of 1/12."""
    return float(np.hypot(sigma_px, 12**-0.5))


def filled_tube_contrast(
    *,
    radius_px: float,
    sigma_px: float,
    peak: float,
    angle_deg: float,
    lumen: float,
    filled: float,
    size_px: int = 200,
    noise: float = 0.0,
) -> Float:
    """What contrast in the lumen of `straight_tube` adds; ``filled`` is its own peak absorption."""
    off = _off_axis(size_px, angle_deg)
    hollow = 2 * np.sqrt(np.maximum((lumen * radius_px) ** 2 - off**2, 0))
    wall = 2 * np.sqrt(np.maximum(radius_px**2 - off**2, 0)) - hollow
    depth = peak * wall / wall.max()
    arriving = []
    for total in (depth, depth + filled * hollow / hollow.max()):
        coarse = cv2.resize(np.exp(-total), (size_px, size_px), interpolation=cv2.INTER_AREA)
        arriving.append(cv2.GaussianBlur(coarse, (0, 0), sigma_px))
    grain = np.random.default_rng(1).normal(size=arriving[0].shape) * noise
    return np.asarray(np.log(arriving[0] / arriving[1]) + grain, dtype=np.float32)
