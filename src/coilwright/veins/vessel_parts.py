"""Vessels cut, turned, put together and rescaled: their parallel arrays stay parallel."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from math import ceil, hypot

from coilwright.veins.calibration import Calibration
from coilwright.veins.vessels import DiameterMethod, Join, Narrowing, OwnEnd, Point, Vessel

LARGEST_STEP_MM = 0.6
Values = tuple[float | None, ...]


def empty_vessel(vessel: Vessel, points_px: Sequence[Point], mm_per_pixel: float) -> Vessel:
    """``vessel`` along other points, densely sampled, with nothing measured."""
    points, arc_mm = dense_path(points_px, mm_per_pixel)
    nothing: Values = (None,) * len(points)
    return replace(
        vessel,
        points_px=points,
        arc_mm=arc_mm,
        diameter_mm=nothing,
        diameter_sd_mm=nothing,
        depth_relative_sd=nothing,
        opacity=nothing,
        arrival_s=nothing,
        narrowings=(),
    )


def dense_path(
    points_px: Sequence[Point], mm_per_pixel: float
) -> tuple[tuple[Point, ...], tuple[float, ...]]:
    """Points at most 0.6 mm apart on straight lines between the given ones, and their arcs."""
    dense = [points_px[0]]
    for (x0, y0), (x1, y1) in pairwise(points_px):
        steps = max(1, ceil(hypot(x1 - x0, y1 - y0) * mm_per_pixel / LARGEST_STEP_MM))
        dense += [
            (x0 + (x1 - x0) * i / steps, y0 + (y1 - y0) * i / steps) for i in range(1, steps + 1)
        ]
    arc = [0.0]
    for (x0, y0), (x1, y1) in pairwise(dense):
        arc.append(arc[-1] + hypot(x1 - x0, y1 - y0) * mm_per_pixel)
    return tuple(dense), tuple(arc)


def resampled(vessel: Vessel, arcs_mm: Sequence[float]) -> Vessel:
    """The vessel at other arcs, straight between its samples; null beside a null."""
    where = [_place(vessel.arc_mm, arc) for arc in arcs_mm]

    def of(values: Values) -> Values:
        return tuple(_between(values, index, share) for index, share in where)

    xs, ys = (of(tuple(point[axis] for point in vessel.points_px)) for axis in (0, 1))
    return replace(
        vessel,
        points_px=tuple((x or 0.0, y or 0.0) for x, y in zip(xs, ys, strict=True)),
        arc_mm=tuple(arcs_mm),
        diameter_mm=of(vessel.diameter_mm),
        diameter_sd_mm=of(vessel.diameter_sd_mm),
        depth_relative_sd=of(vessel.depth_relative_sd),
        opacity=of(vessel.opacity),
        arrival_s=of(vessel.arrival_s),
    )


def turned(vessel: Vessel) -> Vessel:
    """The vessel from its other end; arcs of other vessels' joins are the caller's to turn."""
    length_mm = vessel.arc_mm[0] + vessel.arc_mm[-1]
    other = {OwnEnd.START: OwnEnd.END, OwnEnd.END: OwnEnd.START}
    return replace(
        vessel,
        joins=tuple(replace(join, own_end=other[join.own_end]) for join in vessel.joins),
        points_px=vessel.points_px[::-1],
        arc_mm=tuple(length_mm - arc for arc in vessel.arc_mm[::-1]),
        diameter_mm=vessel.diameter_mm[::-1],
        diameter_sd_mm=vessel.diameter_sd_mm[::-1],
        depth_relative_sd=vessel.depth_relative_sd[::-1],
        opacity=vessel.opacity[::-1],
        arrival_s=vessel.arrival_s[::-1],
        narrowings=tuple(
            replace(n, from_mm=length_mm - n.to_mm, to_mm=length_mm - n.from_mm)
            for n in vessel.narrowings[::-1]
        ),
    )


def cut(vessel: Vessel, at_mm: float) -> tuple[Vessel, Vessel]:
    """The part up to ``at_mm`` and the part from there, both with a sample at the cut.

    Arcs of the second part run from 0; joins at the far end go with it. A narrowing across the cut
    is divided.
    """
    arcs = sorted({*vessel.arc_mm, at_mm})
    split = arcs.index(at_mm)
    first = resampled(vessel, arcs[: split + 1])
    second = resampled(vessel, arcs[split:])
    first = replace(
        first,
        joins=tuple(j for j in vessel.joins if j.own_end is OwnEnd.START),
        narrowings=_narrowings_within(vessel, vessel.arc_mm[0], at_mm),
        leaves_frame=False,
    )
    second = replace(
        second,
        joins=tuple(j for j in vessel.joins if j.own_end is OwnEnd.END),
        narrowings=_narrowings_within(vessel, at_mm, vessel.arc_mm[-1]),
    )
    return first, shifted(second, -at_mm)


def shifted(vessel: Vessel, by_mm: float) -> Vessel:
    """The vessel with every arc moved."""
    return replace(
        vessel,
        arc_mm=tuple(arc + by_mm for arc in vessel.arc_mm),
        narrowings=tuple(
            replace(n, from_mm=n.from_mm + by_mm, to_mm=n.to_mm + by_mm) for n in vessel.narrowings
        ),
    )


def put_together(first: Vessel, second: Vessel, mm_per_pixel: float) -> Vessel:
    """``second`` behind ``first``, a gap between them bridged by a straight line, unmeasured.

    The arcs of ``second`` move by the arc at which it begins in the result, from its own first.
    """
    bridge = empty_vessel(first, (first.points_px[-1], second.points_px[0]), mm_per_pixel)
    begins_mm = first.arc_mm[-1] + bridge.arc_mm[-1]
    inner = resampled(bridge, bridge.arc_mm[1:-1]) if len(bridge.arc_mm) > 2 else None
    moved = shifted(second, begins_mm - second.arc_mm[0])
    parts = [first]
    if inner is not None:
        parts.append(shifted(inner, first.arc_mm[-1]))
    if bridge.arc_mm[-1] == 0.0:
        moved = resampled(moved, moved.arc_mm[1:])
    parts.append(moved)
    return replace(
        first,
        runs=tuple(sorted({*first.runs, *second.runs})),
        points_px=tuple(point for part in parts for point in part.points_px),
        arc_mm=tuple(arc for part in parts for arc in part.arc_mm),
        diameter_mm=tuple(d for part in parts for d in part.diameter_mm),
        diameter_sd_mm=tuple(d for part in parts for d in part.diameter_sd_mm),
        depth_relative_sd=tuple(d for part in parts for d in part.depth_relative_sd),
        opacity=tuple(o for part in parts for o in part.opacity),
        arrival_s=tuple(a for part in parts for a in part.arrival_s),
        narrowings=(*first.narrowings, *moved.narrowings),
        leaves_frame=second.leaves_frame,
    )


def rescaled(vessel: Vessel, before: Calibration, after: Calibration) -> Vessel:
    """The vessel under another scale; a calibre that somebody stated in millimetres stays.

    The part of each standard deviation that was the old scale's gives way to the new one's.
    """
    factor = after.mm_per_pixel / before.mm_per_pixel
    grown = replace(
        vessel,
        joins=vessel.joins,
        arc_mm=tuple(arc * factor for arc in vessel.arc_mm),
        narrowings=tuple(_grown(n, before, after) for n in vessel.narrowings),
    )
    if vessel.diameter_method is not DiameterMethod.GIVEN:
        pairs = zip(vessel.diameter_mm, vessel.diameter_sd_mm, strict=True)
        sds = tuple(_sd_under(d, sd, before, after) for d, sd in pairs)
        widths = tuple(None if d is None else d * factor for d in vessel.diameter_mm)
        grown = replace(grown, diameter_mm=widths, diameter_sd_mm=sds)
    return _fine_enough(grown)


def joins_scaled(joins: tuple[Join, ...], factor: float) -> tuple[Join, ...]:
    """Joins with their arcs along the parent under another scale."""
    return tuple(replace(join, at_mm=join.at_mm * factor) for join in joins)


def _fine_enough(vessel: Vessel) -> Vessel:
    arcs = [vessel.arc_mm[0]]
    for low, high in zip(vessel.arc_mm, vessel.arc_mm[1:], strict=False):
        steps = max(1, ceil((high - low) / LARGEST_STEP_MM - 1e-9))
        arcs += [low + (high - low) * i / steps for i in range(1, steps)] + [high]
    return vessel if len(arcs) == len(vessel.arc_mm) else resampled(vessel, arcs)


def _grown(narrowing: Narrowing, before: Calibration, after: Calibration) -> Narrowing:
    factor = after.mm_per_pixel / before.mm_per_pixel
    width, sd = narrowing.relaxed_diameter_mm, narrowing.relaxed_sd_mm
    return Narrowing(
        from_mm=narrowing.from_mm * factor,
        to_mm=narrowing.to_mm * factor,
        relaxed_diameter_mm=None if width is None else width * factor,
        relaxed_sd_mm=_sd_under(width, sd, before, after),
    )


def _sd_under(
    width_mm: float | None, sd_mm: float | None, before: Calibration, after: Calibration
) -> float | None:
    if width_mm is None or sd_mm is None:
        return None
    factor = after.mm_per_pixel / before.mm_per_pixel
    fit_mm = max(sd_mm**2 - (width_mm * before.relative_sd) ** 2, 0.0) ** 0.5
    return hypot(fit_mm * factor, width_mm * factor * after.relative_sd)


def _narrowings_within(vessel: Vessel, low_mm: float, high_mm: float) -> tuple[Narrowing, ...]:
    return tuple(
        replace(n, from_mm=max(n.from_mm, low_mm), to_mm=min(n.to_mm, high_mm))
        for n in vessel.narrowings
        if n.to_mm > low_mm and n.from_mm < high_mm
    )


def _place(arc_mm: Sequence[float], at_mm: float) -> tuple[int, float]:
    """Index of the sample before an arc, and the share of the way to the next one."""
    if len(arc_mm) == 1:
        return 0, 0.0
    index = min(max(bisect_right(arc_mm, at_mm) - 1, 0), len(arc_mm) - 2)
    step = arc_mm[index + 1] - arc_mm[index]
    return index, min(max((at_mm - arc_mm[index]) / step, 0.0), 1.0) if step > 0 else 0.0


def _between(values: Values, index: int, share: float) -> float | None:
    low = values[index]
    if share == 0.0:
        return low
    high = values[index + 1]
    if share == 1.0:
        return high
    return None if low is None or high is None else low + share * (high - low)
