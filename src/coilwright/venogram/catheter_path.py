"""The catheter's way through a picture without contrast: an even dark line into the vein.

Bone edges and ribs are dark lines too. What tells the catheter apart is that it is as wide as its
French size says, runs on without a break from the border, and ends where contrast came out.
"""

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt
from skimage.graph import MCP_Geometric

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

DIRECTIONS = 20
HALF_SIZE_SIGMA_PX = 2.4
# A pixel off any line costs this many times one on the catheter, inverted: a long way along it is
# still cheaper than a short cut to the border.
OFF_LINE = 0.001
AT_RIM = 30.0
# Following a line this strong neither speaks for a way nor against it.
LINE_BREAKS_EVEN = 0.5
GAP_BELOW, GAP_COUNTS = 0.2, -1.5
EXITS_APART_PX = 16
MOST_EXITS = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAnswer:
    """How much a picture looks like a line of the catheter's width at each pixel.

    ``strength`` in absorption; ``typical`` is that of the strongest lines in the picture; nothing
    is known at the rim of the field, itself a line.
    """

    strength: Float
    known: npt.NDArray[np.bool_]
    typical: float


def line_answer(picture: Float, field: npt.NDArray[np.bool_], radius_px: float) -> LineAnswer:
    """Answer of elongated line detectors of the catheter's width, the best of all directions."""
    # Half the size is enough to see what so wide a blur leaves, and four times as fast.
    shrink = 2 if 0.8 * radius_px >= HALF_SIZE_SIGMA_PX else 1
    sigma = max(0.8 * radius_px, 0.8) / shrink
    small = cv2.resize(picture, None, fx=1 / shrink, fy=1 / shrink, interpolation=cv2.INTER_AREA)
    smooth = cv2.GaussianBlur(small, (0, 0), sigma)
    xx = cv2.Sobel(smooth, cv2.CV_32F, 2, 0, ksize=3) / 4.0
    yy = cv2.Sobel(smooth, cv2.CV_32F, 0, 2, ksize=3) / 4.0
    xy = cv2.Sobel(smooth, cv2.CV_32F, 1, 1, ksize=3) / 4.0
    best = np.zeros_like(small)
    for angle in np.arange(DIRECTIONS) * np.pi / DIRECTIONS:
        c, s = float(np.cos(angle)), float(np.sin(angle))
        across = np.asarray(
            -(s * s * xx - 2 * c * s * xy + c * c * yy) * sigma**2, dtype=np.float32
        )
        along = cv2.filter2D(across, cv2.CV_32F, _bar(angle, 3.0 * sigma))
        best = np.maximum(best, along)
    answer = np.asarray(cv2.resize(best, picture.shape[::-1]), dtype=np.float32)
    size = 2 * round(2.0 * radius_px + 4) + 1
    inner = cv2.erode(field.astype(np.uint8), np.ones((size, size), np.uint8), borderValue=1) > 0
    answer = np.where(inner, answer, np.float32(0.0))
    typical = float(np.percentile(answer[inner], 99.0)) if inner.any() else 0.0
    return LineAnswer(strength=answer, known=inner, typical=typical)


def _bar(angle: float, length_px: float) -> Float:
    """A line kernel with Gaussian weight along ``angle``."""
    half = int(np.ceil(2.0 * length_px))
    y, x = np.mgrid[-half : half + 1, -half : half + 1].astype(np.float32)
    along = x * np.cos(angle) + y * np.sin(angle)
    off = -x * np.sin(angle) + y * np.cos(angle)
    kernel = np.exp(-0.5 * (along / length_px) ** 2) * np.clip(1.0 - np.abs(off), 0.0, 1.0)
    return np.asarray(kernel / kernel.sum(), dtype=np.float32)


def way_of_line(answer: LineAnswer, field: npt.NDArray[np.bool_], target_xy: Array) -> Array:
    """Points (N, 2) as (x, y) along the catheter, from the border of the field to a target.

    To every part of the border the cheapest way is sought, a pixel costing little where the answer
    is strong; of these ways the one that follows a line as strong as at the target the furthest is
    the catheter's. Bone outlines are weaker, and leave gaps.
    """
    relative = np.clip(answer.strength / max(answer.typical, 1e-9), 0.0, 1.0).astype(np.float64)
    passing = np.where(answer.known, 1.0 / (OFF_LINE + relative**2), AT_RIM)
    finder = MCP_Geometric(np.where(field, passing, -1.0), fully_connected=True)
    x, y = (round(float(v)) for v in target_xy)
    totals, _ = finder.find_costs([(y, x)])
    here = float(answer.strength[max(y - 3, 0) : y + 4, max(x - 3, 0) : x + 4].max())
    as_here = np.minimum(answer.strength / max(here, 0.3 * answer.typical, 1e-9), 1.0)
    support = np.where(answer.known, as_here - LINE_BREAKS_EVEN, 0.0)
    support[answer.known & (as_here < GAP_BELOW)] = GAP_COUNTS
    best: tuple[float, Array] = (-np.inf, np.empty((0, 2)))
    for row, column in _exits(field, totals):
        way = np.array(finder.traceback((row, column)))
        gain = float(support[way[:, 0], way[:, 1]].sum())
        if gain > best[0]:
            best = gain, way[::-1, ::-1].astype(np.float64)
    return best[1]


def _exits(field: npt.NDArray[np.bool_], totals: Array) -> list[tuple[int, int]]:
    """The cheapest points of the border, a few pixels apart from one another."""
    rim = field & ~cv2.erode(field.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
    rim[[0, -1], :] |= field[[0, -1], :]
    rim[:, [0, -1]] |= field[:, [0, -1]]
    rows, columns = np.nonzero(rim & np.isfinite(totals))
    chosen: list[tuple[int, int]] = []
    for index in np.argsort(totals[rows, columns]):
        row, column = int(rows[index]), int(columns[index])
        if all(abs(row - r) + abs(column - c) > EXITS_APART_PX for r, c in chosen):
            chosen.append((row, column))
        if len(chosen) == MOST_EXITS:
            break
    return chosen


def lit_field(mask_absorption: Float) -> npt.NDArray[np.bool_]:
    """Where the beam reached the detector: the picture less its collimated border.

    Shutters shade at least one corner of the picture, evenly and far more than bone does.
    """
    smooth = cv2.GaussianBlur(mask_absorption, (0, 0), 2.0)
    low, middle = (float(v) for v in np.percentile(smooth[::3, ::3], (2, 50)))
    dark = (smooth > middle + 1.5 * (middle - low) + 1e-6).astype(np.uint8)
    _, parts = cv2.connectedComponents(dark)
    corners = {int(parts[r, c]) for r in (0, -1) for c in (0, -1)} - {0}
    field = ~np.isin(parts, list(corners))
    inner = cv2.erode(field.astype(np.uint8), np.ones((5, 5), np.uint8))
    return np.asarray(inner > 0, dtype=np.bool_)
