"""Shift of each frame against the mask: a still patient's frames are left untouched."""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Float = npt.NDArray[np.float32]

ITERATIONS = 12
SEARCH_SIZE_PX = 256
# Below this the interpolation of a shift costs more than the shift does.
LEAVE_ALONE_PX = 0.15


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """A picture that others are registered to, shrunk by ``shrink``."""

    small: Float
    shrink: int


def reference_of(picture: Float) -> Reference:
    """Prepare a picture (rows, columns) for registration."""
    shrink = max(1, round(max(picture.shape) / SEARCH_SIZE_PX))
    return Reference(small=_shrunk(picture, shrink), shrink=shrink)


def frame_shift_px(frame: Float, reference: Reference) -> tuple[float, float]:
    """Shift (x, y) in pixels that carries the reference onto ``frame``; zero where negligible.

    Least squares on the gradient (one translation), with what changed between the two (contrast,
    moving gas) weighted out by Tukey's biweight.

    References
    ----------
    Lucas BD, Kanade T. An iterative image registration technique. IJCAI 1981, 674-679.
    """
    moved = _shrunk(frame, reference.shrink)
    shift = np.zeros(2)
    for _ in range(ITERATIONS):
        step = _shift_step(moved, _warped(reference.small, (shift[0], shift[1])))
        shift = shift + step
        if float(np.abs(step).max()) < 0.01:
            break
    full = shift * reference.shrink
    if float(np.hypot(*full)) < LEAVE_ALONE_PX:
        return 0.0, 0.0
    return float(full[0]), float(full[1])


def _shrunk(picture: Float, shrink: int) -> Float:
    small = cv2.resize(picture, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    return np.asarray(cv2.GaussianBlur(small, (0, 0), 1.0), dtype=np.float32)


def _shift_step(moved: Float, warped: Float) -> npt.NDArray[np.float64]:
    margin = 8
    inside = np.s_[margin:-margin, margin:-margin]
    gx = cv2.Sobel(warped, cv2.CV_64F, 1, 0, ksize=3, scale=1 / 8)
    gy = cv2.Sobel(warped, cv2.CV_64F, 0, 1, ksize=3, scale=1 / 8)
    residual = (moved - warped)[inside].astype(np.float64)
    residual -= np.median(residual)
    spread = 1.4826 * float(np.median(np.abs(residual))) + 1e-9
    weight = np.clip(1.0 - (residual / (4.0 * spread)) ** 2, 0.0, None) ** 2
    gradient = np.stack([-gx[inside].ravel(), -gy[inside].ravel()]).astype(np.float64)
    weighted = gradient * weight.ravel()
    normal = weighted @ gradient.T + 1e-9 * np.eye(2)
    return np.asarray(np.linalg.solve(normal, weighted @ residual.ravel()))


def shifted(picture: Float, shift_px: tuple[float, float]) -> Float:
    """The picture moved by (x, y) pixels, cubic interpolation, edges repeated."""
    return picture if shift_px == (0.0, 0.0) else _warped(picture, shift_px)


def _warped(picture: Float, shift_px: tuple[float, float]) -> Float:
    matrix = np.array([[1.0, 0.0, shift_px[0]], [0.0, 1.0, shift_px[1]]])
    rows, columns = picture.shape
    moved = cv2.warpAffine(
        picture,
        matrix,
        (columns, rows),
        flags=cv2.INTER_CUBIC,
        borderMode=cv2.BORDER_REPLICATE,
    )
    return np.asarray(moved, dtype=np.float32)
