"""The catheter in a run: its course, its tip, and how wide it is."""

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter1d, median_filter
from scipy.spatial import cKDTree

from coilwright.venogram.blur import Blur
from coilwright.venogram.blurred_cylinder import Shape
from coilwright.venogram.calibre import fit_cylinders
from coilwright.venogram.catheter_path import LineAnswer, line_answer, lit_field, way_of_line
from coilwright.venogram.catheter_width import CatheterWidth, ExpectedLumen, Pieces, fit_width
from coilwright.venogram.course import Course, smooth_course, straighten
from coilwright.venogram.raw_profiles import stretches

Float = npt.NDArray[np.float32]
Array = npt.NDArray[np.float64]

BACKGROUND_DEGREE = 2
PATH_SCATTER_PX = 0.8
# How far beyond the expected tip the way is sought, in catheter radii.
OVERSHOOT_RADII = 8.0
# Steps of each fit that moves the course onto the axis: more are spent on what is no tube.
AXIS_ROUNDS = 8
# The pieces that its width is measured on, in radii; the rounded tip is left out.
PIECE_RADII, TIP_RADII, REACH_RADII = 8.0, 2.5, 3.2
MOST_PIECES = 40
# The end that fills first is the catheter's, unless the other shows a line this much clearer.
FIRST_FILLED_COUNTS = 1.5
# Share of the way into the vein that must be that narrow to be the lumen.
LUMEN_SHARE = 0.6
# A line that leaves the tip ahead, this far in radii and this strong, is the catheter going on.
BEYOND_RADII, GOES_ON_PART = 10.0, 0.7
# A line counts from this part of the strongest lines in the picture.
LEAST_LINE = 0.4
# Contrast narrower than this part of the catheter cannot be the vein around it.
LUMEN_PART = 1.1


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterCourse:
    """The catheter from the border to its tip, and a radius in pixels to look with.

    ``stops`` is whether its line is gone beyond the tip; else the tip may be a mere crossing.
    """

    course: Course
    look_radius_px: float
    stops: bool = True

    @property
    def tip_xy(self) -> tuple[float, float]:
        """Where it ends, (x, y) in pixels."""
        x, y = self.course.points_xy[-1]
        return float(x), float(y)

    def ends_near(self, points_xy: Array, scale_px: Float) -> bool:
        """Whether the tip lies in or just outside a vessel that runs through these points.

        Contrast narrower than the catheter is its own lumen, not a vessel.
        """
        away, nearest = cKDTree(points_xy).query(np.array(self.tip_xy))
        rows, columns = scale_px.shape
        x, y = (int(v) for v in np.clip(np.rint(points_xy[nearest]), 0, (columns - 1, rows - 1)))
        half_width = 1.25 * float(scale_px[y, x])
        return bool(
            half_width > self.look_radius_px and away < half_width + 12.0 * self.look_radius_px
        )

    def lies_along(self, course: Course, radius_px: Array) -> npt.NDArray[np.bool_]:
        """Which points of a course lie on the catheter and are narrower than it: its lumen."""
        away, _ = cKDTree(self.course.points_xy).query(course.points_xy)
        near = away <= self.look_radius_px + 1.0
        return np.asarray(near & (radius_px < LUMEN_PART * self.look_radius_px))


def find_catheter(
    mask: Float, trunk: Course, trunk_radius_px: Array, radius_px: float
) -> CatheterCourse | None:
    """The catheter that enters the trunk, or None where no line leads into it.

    Parameters
    ----------
    mask : (rows, columns), absorption before contrast
    trunk : the end that fills first comes first; it may still hold the catheter's filled lumen
    radius_px : expected outer radius
    """
    lit = lit_field(mask)
    answer = line_answer(mask, lit, radius_px)
    first = _lead_into_vein(answer, trunk, trunk_radius_px, radius_px)
    other = _lead_into_vein(answer, trunk.turned(), trunk_radius_px[::-1], radius_px)
    lead = first if FIRST_FILLED_COUNTS * first.gain_px >= other.gain_px else other
    way = lead.lumen_xy
    if not len(way) or not _at_border(way[0], lit, radius_px):
        way = way_of_line(answer, lit, lead.points_xy[0])
    if not len(way):
        return None
    points = np.concatenate([way, lead.points_xy[1:]])
    course = _onto_axis(mask, smooth_course(points, PATH_SCATTER_PX), radius_px)
    end = _end_of_line(mask, course, radius_px)
    if end is None or end < 10 * radius_px:
        return None
    ended = smooth_course(course.points_xy[: max(round(end), 4)], 0.0)
    found = CatheterCourse(
        course=ended, look_radius_px=radius_px, stops=not _goes_on(answer, ended, radius_px)
    )
    away = float(np.hypot(*(trunk.points_xy - np.array(found.tip_xy)).T).min())
    return found if lead.inside or away < 12 * radius_px else None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lead:
    """Points from where the catheter certainly is to beyond where it may end.

    ``gain_px`` is how clearly a line stops along the trunk: higher than beyond, for long enough.
    ``lumen_xy`` is the way there along contrast no wider than the catheter: its filled lumen.
    """

    points_xy: Array
    inside: bool
    gain_px: float
    lumen_xy: Array = field(default_factory=lambda: np.empty((0, 2)))


def _lead_into_vein(
    answer: LineAnswer, trunk: Course, trunk_radius_px: Array, radius_px: float
) -> _Lead:
    """Where the trunk first holds the catheter's line, followed down the trunk past its end."""
    reach = float(np.median(trunk_radius_px)) + radius_px
    across = np.linspace(-reach, reach, max(5, round(reach) * 2 + 1))
    strip = straighten(answer.strength, trunk, across, order=1)
    known = straighten(answer.known.astype(np.float32), trunk, across, order=1).min(1) > 0.5
    if known.sum() < 4 * radius_px:
        return _Lead(points_xy=trunk.points_xy[:1], inside=False, gain_px=0.0)
    order = np.arange(len(strip))
    bridged = np.interp(order, order[known], strip.max(1)[known])
    along = gaussian_filter1d(bridged, radius_px, mode="nearest")
    deepest, gain = _best_step(np.minimum(along / answer.typical, 2.0), round(2.0 * radius_px))
    if gain <= 0.0:
        outside = _lead_outside(answer, trunk, radius_px)
        return _Lead(points_xy=outside, inside=False, gain_px=gain)
    first = max(deepest - round(6 * radius_px), 0)
    last = min(deepest + round(OVERSHOOT_RADII * radius_px), len(along) - 1)
    off = across[strip[: deepest + 1].argmax(1)]
    off = median_filter(off, size=max(3, round(3 * radius_px)), mode="nearest")
    off = gaussian_filter1d(np.append(off, np.full(last - deepest, off[-1])), 2.0, mode="nearest")
    points = trunk.points_xy[: last + 1] + off[:, None] * trunk.normals_xy[: last + 1]
    narrow = trunk_radius_px[: first + 1] < LUMEN_PART * radius_px
    lumen = points[: first + 1] if narrow.mean() > LUMEN_SHARE else np.empty((0, 2))
    return _Lead(points_xy=points[first:], inside=True, gain_px=gain, lumen_xy=lumen)


def _at_border(point_xy: Array, lit: npt.NDArray[np.bool_], radius_px: float) -> bool:
    """Whether a point lies at the border of the picture or of the lit field."""
    reach = round(4.0 * radius_px)
    rows, columns = lit.shape
    x, y = (round(float(v)) for v in point_xy)
    outside = x < reach or y < reach or x >= columns - reach or y >= rows - reach
    return outside or not bool(lit[y - reach : y + reach + 1, x - reach : x + reach + 1].all())


def _best_step(along: Array, shortest: int) -> tuple[int, float]:
    """Where a line along the trunk stops, and how clearly: the one step down that fits best.

    0 where no part of the start is twice as strong as what follows, or none is strong.
    """
    n = len(along)
    if n < 3 * shortest + 3:
        return 0, 0.0
    at = np.arange(shortest, n - shortest)
    total = np.cumsum(along)
    before, after = total[at] / (at + 1), (total[-1] - total[at]) / (n - 1 - at)
    clear = (before > LEAST_LINE) & (before > 1.6 * after)
    gain = np.where(clear, (before - after) * np.sqrt(at * (n - at) / n), 0.0)
    best = int(np.argmax(gain))
    return int(at[best]), float(gain[best])


def _lead_outside(answer: LineAnswer, trunk: Course, radius_px: float) -> Array:
    """The strongest line near the cranial end, and a straight way on from the vein."""
    reach = round(10 * radius_px)
    rows, columns = answer.strength.shape
    x, y = np.clip(trunk.points_xy[0], 0, (columns - 1, rows - 1))
    r0, c0 = max(round(float(y)) - reach, 0), max(round(float(x)) - reach, 0)
    near = answer.strength[r0 : min(round(float(y)) + reach, rows), c0 : c0 + 2 * reach]
    r, c = np.unravel_index(int(near.argmax()), near.shape)
    start = np.array([c0 + c, r0 + r], dtype=np.float64)
    return np.linspace(start, trunk.points_xy[0], max(4, round(float(np.hypot(*(start - (x, y)))))))


def _strip(picture: Float, course: Course, radius_px: float) -> tuple[Array, Array]:
    half = 3.2 * radius_px + 3.0
    across = np.linspace(-half, half, 2 * int(np.ceil(half)) + 1)
    return straighten(picture, course, across), across


def _onto_axis(mask: Float, course: Course, radius_px: float) -> Course:
    """The course moved onto the axis of the dark line it follows."""
    for scatter in (0.4, 0.12, 0.05):
        strip, across = _strip(mask, course, radius_px)
        smooth = gaussian_filter1d(strip, radius_px, axis=0, mode="nearest")
        at = np.arange(0, len(strip), 3)
        weights = (np.abs(across) < 2.4 * radius_px + 2.0).astype(np.float64)
        fits = fit_cylinders(
            smooth[at],
            across,
            np.broadcast_to(weights, smooth[at].shape),
            Shape(sigma_px=1.0, background_degree=BACKGROUND_DEGREE),
            np.full(len(at), radius_px),
            rounds=AXIS_ROUNDS,
        )
        offset = np.where(fits.opacity_per_px > 0, np.clip(fits.offset_px, -2.5, 2.5), 0.0)
        moved = np.interp(np.arange(len(strip)), at, gaussian_filter1d(offset, 2.0))
        course = course.moved(moved, scatter)
    return course


def _end_of_line(mask: Float, course: Course, radius_px: float) -> float | None:
    """Distance along the course at which the line stops, by the best single step in strength."""
    strip, across = _strip(mask, course, radius_px)
    inner = np.abs(across) <= radius_px
    outer = (np.abs(across) >= 1.6 * radius_px + 1.0) & (np.abs(across) <= 2.6 * radius_px + 3.0)
    strength = strip[:, inner].mean(1) - np.median(strip[:, outer], axis=1)
    count = len(strength)
    first = round(6 * radius_px)
    # Only the near part tells how strong the line is where it ends: a cava lies elsewhere.
    window = strength[max(0, count - round(60 * radius_px)) :]
    start = count - len(window)
    best, end = 0.0, None
    for at in range(first, len(window) - 2):
        before = window[max(0, at - round(12 * radius_px)) : at]
        after = window[at : at + round(12 * radius_px)]
        step = float(before.mean() - after.mean())
        weight = step * np.sqrt(len(before) * len(after) / (len(before) + len(after)))
        if weight > best:
            best, end = weight, at
    if end is None:
        return None
    high = float(np.median(window[max(0, end - round(12 * radius_px)) : end]))
    low = float(np.median(window[end : end + round(12 * radius_px)]))
    return start + _half_crossing(window, end, (high + low) / 2.0, round(3 * radius_px))


def _goes_on(answer: LineAnswer, course: Course, radius_px: float) -> bool:
    """Whether a line as strong as the catheter's leaves its tip on the far side."""
    count = round(BEYOND_RADII * radius_px)
    own = course.points_xy[-2 * count : -count // 2].round().astype(int)
    rows, columns = answer.strength.shape
    inside = (own >= 0).all(1) & (own[:, 0] < columns) & (own[:, 1] < rows)
    if not inside.any():
        return False
    usual = float(np.median(answer.strength[own[inside, 1], own[inside, 0]]))
    tip, before = course.points_xy[-1], course.points_xy[-min(count, len(course.points_xy))]
    heading = float(np.arctan2(*(tip - before)[::-1]))
    angles = heading + np.linspace(-2.0, 2.0, 81)
    ahead = np.column_stack([np.cos(angles), np.sin(angles)])
    rings = [
        answer.strength[
            np.clip((tip + reach * ahead)[:, 1].round().astype(int), 0, rows - 1),
            np.clip((tip + reach * ahead)[:, 0].round().astype(int), 0, columns - 1),
        ].max()
        for reach in np.linspace(0.5, 1.0, 5) * count
    ]
    return bool(min(rings) > GOES_ON_PART * usual)


def _half_crossing(window: Array, near: int, level: float, reach: int) -> float:
    smooth = gaussian_filter1d(window, 1.5)
    a, b = max(near - reach, 1), min(near + reach, len(smooth))
    falls = [i for i in range(a, b) if smooth[i - 1] >= level > smooth[i]]
    if not falls:
        return float(near)
    at = min(falls, key=lambda i: abs(i - near))
    part = (smooth[at - 1] - level) / max(float(smooth[at - 1] - smooth[at]), 1e-12)
    return float(at - 1 + part)


def measure_width(
    mask: Float,
    contrast: Float,
    catheter: CatheterCourse,
    trunk: Course,
    trunk_radius_px: Array,
    blur: Blur,
    lumen: ExpectedLumen,
) -> CatheterWidth | None:
    """Width of the catheter in the raw frames, with preference for what lies in or by the vein.

    ``contrast`` is the opacification: outside the vein it shows the catheter's filled lumen.
    """
    radius = catheter.look_radius_px
    size = max(4.0, PIECE_RADII * radius)
    last = catheter.course.length_px - TIP_RADII * radius - size
    starts = np.arange(last, 0.0, -size)[: MOST_PIECES - 1][::-1]
    if not len(starts):
        return None
    found = stretches(mask.shape, catheter.course, starts, size, REACH_RADII * radius + 3.0)
    away, _ = cKDTree(trunk.points_xy).query(found.middle_xy)
    pieces = Pieces(
        walls=found.of(mask),
        contrast=found.of(contrast),
        pixels=found.pixels,
        across_px=found.across_px,
        beside_px=np.maximum(away - float(np.median(trunk_radius_px)) - radius, 0.0),
    )
    return fit_width(pieces, radius, blur, lumen)
