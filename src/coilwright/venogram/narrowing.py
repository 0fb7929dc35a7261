"""Focal narrowings of the trunk against its own taper."""

import numpy as np
import numpy.typing as npt

from coilwright.veins import Narrowing

Array = npt.NDArray[np.float64]

# A stretch is called narrow below this part of the taper, over at least this length: wider changes
# are the vein's own undulation. Chosen against rendered veins; no published threshold exists.
NARROW_PART = 0.80
SHORTEST_MM = 4.0
LONGEST_PART = 0.5
# A refluxing trunk is 4 to 10 mm wide, a healthy one 2 to 4 (from memory): one that is nowhere
# wider than this is clamped down from end to end, or it is not the vein that was looked for.
WIDEST_IN_SPASM_MM = 2.5
WIDEST_SHARE = 0.9


def find_narrowings(arc_mm: Array, diameter_mm: Array, sd_mm: Array) -> tuple[Narrowing, ...]:
    """Stretches narrower than the taper of the rest, with the taper as relaxed calibre.

    Of a trunk that is narrow from end to end the relaxed calibre is not known: never the taper.

    Parameters
    ----------
    arc_mm, diameter_mm, sd_mm : (N,), NaN where not measured
    """
    known = np.isfinite(diameter_mm)
    if known.sum() < 30:
        return ()
    if wholly_narrow(diameter_mm):
        whole = Narrowing(
            from_mm=float(arc_mm[0]),
            to_mm=float(arc_mm[-1]),
            relaxed_diameter_mm=None,
            relaxed_sd_mm=None,
        )
        return (whole,)
    taper, scatter_mm = _taper(arc_mm[known], diameter_mm[known], arc_mm)
    narrow = known & (diameter_mm < NARROW_PART * taper)
    found = []
    for first, last in _stretches(narrow):
        if float(arc_mm[last] - arc_mm[first]) < SHORTEST_MM:
            continue
        # The calibre between the walls of a narrowing is not its edge: widen to the taper.
        start, end = _shoulders(diameter_mm, taper, first, last)
        at = start + int(np.nanargmin(diameter_mm[start : end + 1]))
        focal = arc_mm[end] - arc_mm[start] < LONGEST_PART * (arc_mm[-1] - arc_mm[0])
        relaxed_sd = float(np.hypot(scatter_mm, sd_mm[at] / diameter_mm[at] * taper[at]))
        found.append(
            Narrowing(
                from_mm=float(arc_mm[start]),
                to_mm=float(arc_mm[end]),
                relaxed_diameter_mm=float(taper[at]) if focal else None,
                relaxed_sd_mm=relaxed_sd if focal else None,
            )
        )
    return tuple(found)


def wholly_narrow(diameter_mm: Array) -> bool:
    """Whether the trunk is so narrow all along that nothing in it shows its relaxed calibre."""
    known = diameter_mm[np.isfinite(diameter_mm)]
    return len(known) > 0 and float(np.quantile(known, WIDEST_SHARE)) < WIDEST_IN_SPASM_MM


def _taper(arc_known: Array, diameter: Array, arc_mm: Array) -> tuple[Array, float]:
    """A line through the diameters, narrow points weighted out; and the scatter about it."""
    weight = np.ones_like(diameter)
    for _ in range(12):
        fit = np.polyfit(arc_known, diameter, 1, w=np.sqrt(weight))
        residual = diameter - np.polyval(fit, arc_known)
        scale = 1.4826 * float(np.median(np.abs(residual))) + 0.02 * float(diameter.mean())
        reach = np.where(residual < 0, 2.0, 4.0) * scale
        weight = np.clip(1.0 - (residual / reach) ** 2, 0.0, None) ** 2 + 1e-6
    inside = weight > 0.1
    scatter = float(np.std(residual[inside])) if inside.any() else scale
    return np.asarray(np.polyval(fit, arc_mm), dtype=np.float64), scatter


def _stretches(flags: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], flags.astype(int), [0]])))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _shoulders(diameter_mm: Array, taper: Array, start: int, end: int) -> tuple[int, int]:
    while start > 0 and diameter_mm[start - 1] < 0.93 * taper[start - 1]:
        start -= 1
    while end < len(diameter_mm) - 1 and diameter_mm[end + 1] < 0.93 * taper[end + 1]:
        end += 1
    return start, end
