"""How well the structure of a measured tree agrees with the truth: kinds, joins, arrival, ostium.

A true vessel is found in the measured one that covers most of it, half at least. A crossing vein is
right as a side vein that joins nothing. A join is right when it opens into the same vessel within
3 mm of the true place, seen in the picture.
"""

import numpy as np
import numpy.typing as npt
from scipy.spatial import cKDTree

from coilwright.phantom import Truth
from coilwright.phantom.truth import TrueVessel
from coilwright.veins import VeinMap, Vessel

Array = npt.NDArray[np.float64]

NEAR_MM = 1.5
FOUND_PART = 0.5
JOIN_NEAR_MM = 3.0
LEAST_WIDTH_MM, LEAST_LENGTH_MM = 1.2, 12.0


def found_vessels(measured: VeinMap, truth: Truth, mm: float) -> dict[str, Vessel]:
    """The measured vessel that shows each true one, by the true one's id; ``truth`` in its pose."""
    found = {}
    for vessel in truth.vessels:
        points = _points(vessel)
        wide = float(np.median(vessel.diameter_mm)) >= LEAST_WIDTH_MM
        if not wide or len(points) < 3 or _length(points) * mm < LEAST_LENGTH_MM:
            continue
        if vessel.kind.value == "trunk":
            others = [v for v in measured.vessels if v.id == "trunk"]
        else:
            others = [v for v in measured.vessels if v.id != "trunk"]
        shares = [(_share_near(points, other, mm), other) for other in others]
        share, best = max(shares, key=lambda pair: pair[0], default=(0.0, None))
        if best is not None and share >= FOUND_PART:
            found[vessel.id] = best
    return found


def kinds_right(truth: Truth, found: dict[str, Vessel]) -> float:
    """Share of the found vessels that have the true kind."""
    right = [
        found[v.id].kind.value == {"crossing": "side-vein"}.get(v.kind.value, v.kind.value)
        for v in truth.vessels
        if v.id in found
    ]
    return float(np.mean(right)) if right else float("nan")


def joins_right(measured: VeinMap, truth: Truth, found: dict[str, Vessel], mm: float) -> float:
    """Share of the joins of found vessels that are right; a crossing counts as one to nothing."""
    by_id = {vessel.id: vessel for vessel in truth.vessels}
    right: list[bool] = []
    for vessel in truth.vessels:
        if vessel.id not in found or vessel.kind.value == "trunk":
            continue
        joins = found[vessel.id].joins
        if not vessel.joins:
            right.append(not joins)
        for true_join in vessel.joins:
            parent = by_id.get(true_join.vessel)
            if parent is None or parent.id not in found:
                continue
            place = _at_arc(parent.points_px, parent.arc_mm, true_join.at_mm)
            into = [join for join in joins if join.vessel == found[parent.id].id]
            places = [_place(measured, join.vessel, join.at_mm) for join in into]
            away = [float(np.hypot(*(p - place))) * mm for p in places]
            right.append(bool(away) and min(away) <= JOIN_NEAR_MM)
    return float(np.mean(right)) if right else float("nan")


def arrival_error_s(truth: Truth, found: dict[str, Vessel], mm: float) -> tuple[float, float]:
    """Median absolute error of arrival over all samples of found vessels, and the median error."""
    errors = []
    for vessel in truth.vessels:
        if vessel.id not in found or vessel.kind.value == "tangle":
            continue
        points = np.array(found[vessel.id].points_px)
        arrival = np.array([np.nan if a is None else a for a in found[vessel.id].arrival_s])
        away, nearest = cKDTree(_points(vessel)).query(points)
        known = np.isfinite(arrival) & (away * mm < NEAR_MM)
        errors.append(arrival[known] - np.array(vessel.arrival_s)[nearest[known]])
    every = np.concatenate(errors) if errors else np.empty(0)
    if not every.size:
        return float("nan"), float("nan")
    return float(np.median(np.abs(every))), float(np.median(every))


def ostium_error_mm(measured: VeinMap, truth: Truth, mm: float) -> float:
    """Distance of the ostium from the true one; NaN where either is not there."""
    true_ostium, ostium = truth.landmarks.ostium, measured.landmarks.ostium
    if true_ostium is None or ostium is None:
        return float("nan")
    return float(np.hypot(*(np.array(ostium.point_px) - np.array(true_ostium)))) * mm


def _points(vessel: TrueVessel) -> Array:
    return np.array(vessel.points_px, dtype=np.float64).reshape(-1, 2)


def _length(points: Array) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _share_near(points: Array, vessel: Vessel, mm: float) -> float:
    away, _ = cKDTree(np.array(vessel.points_px)).query(points)
    return float((away * mm < NEAR_MM).mean())


def _place(measured: VeinMap, vessel_id: str, at_mm: float) -> Array:
    vessel = measured.vessel(vessel_id)
    return _at_arc(vessel.points_px, vessel.arc_mm, at_mm)


def _at_arc(
    points_px: tuple[tuple[float, float], ...], arc_mm: tuple[float, ...], at_mm: float
) -> Array:
    points = np.array(points_px)
    return np.array([np.interp(at_mm, arc_mm, points[:, axis]) for axis in (0, 1)])
