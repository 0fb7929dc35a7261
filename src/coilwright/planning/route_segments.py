"""The path as segments, each with its length, where that comes from and what is missing.

Below the heart no figure by body size was found, so none is made up: what was measured is added,
and a remembered figure is shown beside a missing length, never added (CLINICAL.md section 3.2).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import fmean

from coilwright.advice import Status
from coilwright.planning.level_calibre import combined_mm, measurement_sd_parts_mm
from coilwright.planning.levels import OSTIUM_MISSING
from coilwright.planning.plan import Level
from coilwright.planning.route import Access, AccessSite, LengthFrom, RouteSegment, RouteTarget
from coilwright.planning.route_length import RouteLength
from coilwright.planning.route_measured import (
    RENAL_SEGMENT,
    cava_segment,
    level_segment,
    skin_segment,
    whole_segment,
)
from coilwright.planning.route_neck_depth import neck_depth
from coilwright.planning.trunk_course import Projection, project_onto
from coilwright.protocol import Basis, Citation, Protocol, weakest
from coilwright.veins import Side, VeinMap, Vessel

MEASURE_IT = "no published figure: measure with the wire or a ruler on the table"
ON_THE_TABLE = Citation(source="measured by the operator on the table", status=Status.COMPUTED)
ON_THE_RUN = Citation(source="computed from the vein map", status=Status.COMPUTED)
NO_FIGURE = Citation(source=MEASURE_IT, status=Status.COMPUTED)
PROJECTED = "projected on the run: a lower bound, the vein itself is at least that long"
HEIGHT_MISSING = "body height (height_cm)"


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteBench:
    """Everything that the segments are worked out from; the map is already known to be of side."""

    vein_map: VeinMap | None
    side: Side
    protocol: Protocol
    measured_mm: Mapping[str, float]
    height_cm: float | None
    levels: tuple[Level, ...]

    @property
    def trunk(self) -> Vessel | None:
        """The main vein of the map, if there are both."""
        return None if self.vein_map is None else self.vein_map.trunk

    @property
    def ostium(self) -> Projection | None:
        """The ostium's mark carried onto the trunk; null where nobody has shown it."""
        if self.vein_map is None or self.trunk is None:
            return None
        mark = self.vein_map.landmarks.ostium
        if mark is None:
            return None
        mm_per_pixel = self.vein_map.calibration.mm_per_pixel
        return project_onto(self.trunk, mark.point_px, mm_per_pixel=mm_per_pixel)


def segments_to_ostium(access: Access, bench: RouteBench) -> tuple[RouteSegment, ...]:
    """From the skin to the ostium: one segment where it was measured whole."""
    whole = whole_segment(access)
    if whole in bench.measured_mm:
        return (_on_the_table(whole, f"{access.words}, skin to ostium", bench),)
    return parts_to_ostium(access, bench)


def parts_to_ostium(access: Access, bench: RouteBench) -> tuple[RouteSegment, ...]:
    """From the skin to the ostium part by part, whatever was measured whole."""
    path = [_skin(access, bench), _along_cava(access, bench)]
    if bench.side is Side.LEFT:
        path.append(_along_renal_vein(bench))
    return tuple(path)


def segment_to_level(
    target: RouteTarget, level: Level | None, bench: RouteBench
) -> RouteSegment | None:
    """From the ostium to the far end of a level's zone, where the tip has to lie.

    Null where it is neither known where the level lies nor measured how far it is.
    """
    id = level_segment(target)
    title = f"ostium to the far end of the {target} level"
    if id in bench.measured_mm:
        return _on_the_table(id, title, bench)
    return None if level is None else _on_the_run(id, title, level, bench)


def _on_the_run(id: str, title: str, level: Level, bench: RouteBench) -> RouteSegment | None:
    vein_map, trunk, ostium = bench.vein_map, bench.trunk, bench.ostium
    if vein_map is None or trunk is None:
        return None
    start_mm = trunk.arc_mm[0] if ostium is None else ostium.arc_mm
    seen_mm = max(0.0, level.zone.to_mm - start_mm)
    depths = _depths(trunk, start_mm, level.zone.to_mm)
    sd_mm = _scale_sd_mm(seen_mm, depths, vein_map, bench.protocol)
    used = ["route-length-cover", "projected-length-allowance"]
    limits = [bench.protocol.limit(id) for id in used + ([] if depths else ["depth-relative-sd"])]
    cover, allowance = limits[0].value, limits[1].value / 100.0
    mark_mm = 0.0 if vein_map.landmarks.ostium is None else vein_map.landmarks.ostium.sd_mm
    low_mm = max(0.0, seen_mm - cover * (sd_mm + mark_mm))
    if ostium is None:
        length = RouteLength(low_mm=low_mm)
        text = f"at least {low_mm:.0f} mm from where the vein is first seen; {PROJECTED}"
    else:
        high_mm = (seen_mm + cover * sd_mm) * (1 + allowance) + cover * mark_mm
        length = RouteLength(value_mm=seen_mm, low_mm=low_mm, high_mm=high_mm)
        text = f"{seen_mm:.0f} mm ({low_mm:.0f} to {high_mm:.0f} mm), {PROJECTED}"
    return _segment(
        id,
        title,
        length=length,
        where_from=LengthFrom.RUN,
        text=text,
        basis=(ON_THE_RUN, *limits),
        missing=() if ostium is not None else (OSTIUM_MISSING,),
    )


def _skin(access: Access, bench: RouteBench) -> RouteSegment:
    id = skin_segment(access)
    end = (
        "the lower end of the cava"
        if access.site is AccessSite.GROIN
        else "the top of the right atrium"
    )
    title = f"{access.words}, skin to {end}"
    if id in bench.measured_mm:
        return _on_the_table(id, title, bench)
    if access.site is not AccessSite.NECK:
        return _unknown(id, title)
    if bench.height_cm is None:
        text = "the published figures go by body height, which is not given"
        return _unknown(id, title, text, missing=(HEIGHT_MISSING,))
    depth = neck_depth(access.own_side, bench.height_cm, bench.protocol)
    if depth is None:
        text = f"the published figures are of adults, not of a height of {bench.height_cm:g} cm"
        return _unknown(id, title, f"{text}; {MEASURE_IT}")
    other = (
        "" if depth.not_followed is None else f" ({depth.not_followed} has no figure from the left)"
    )
    each = ", ".join(f"{name}: {cm:.1f} cm" for name, cm in depth.each_cm.items())
    text = (
        f"{depth.length.words_cm()} by {depth.followed}{other} at a height of "
        f"{bench.height_cm:g} cm, to the junction of superior cava and atrium; the range is for "
        f"one patient and spans every published figure ({each})"
    )
    return _segment(
        id,
        title,
        length=depth.length,
        where_from=LengthFrom.PUBLISHED,
        text=text,
        basis=depth.basis,
    )


def _along_cava(access: Access, bench: RouteBench) -> RouteSegment:
    id = cava_segment(access, bench.side)
    to = "the left renal vein" if bench.side is Side.LEFT else "the right vein's own ostium"
    start = (
        "lower end of the cava" if access.site is AccessSite.GROIN else "top of the right atrium"
    )
    title = f"{start} to {to}"
    if id in bench.measured_mm:
        return _on_the_table(id, title, bench)
    if access.site is AccessSite.GROIN or bench.side is Side.RIGHT:
        return _unknown(id, title)
    low = bench.protocol.limit("atrium-to-renal-vein-remembered-low").value
    high = bench.protocol.limit("atrium-to-renal-vein-remembered-high").value
    return _unknown(id, title, f"{MEASURE_IT} (from memory, not added: {low:g} to {high:g} cm)")


def _along_renal_vein(bench: RouteBench) -> RouteSegment:
    title = "along the left renal vein to the ostium"
    if RENAL_SEGMENT in bench.measured_mm:
        return _on_the_table(RENAL_SEGMENT, title, bench)
    most = bench.protocol.limit("left-renal-vein-remembered-high").value
    text = f"{MEASURE_IT} (from memory, not added: the whole left renal vein has up to {most:g} cm)"
    return _unknown(RENAL_SEGMENT, title, text)


def _on_the_table(id: str, title: str, bench: RouteBench) -> RouteSegment:
    measured_mm = bench.measured_mm[id]
    error = bench.protocol.limit("measured-length-error")
    length = RouteLength(
        value_mm=measured_mm,
        low_mm=max(0.0, measured_mm - error.value),
        high_mm=measured_mm + error.value,
    )
    return _segment(
        id,
        title,
        length=length,
        where_from=LengthFrom.TABLE,
        text=f"{length.words_cm()}, measured on the table",
        basis=(ON_THE_TABLE, error),
    )


def _unknown(
    id: str, title: str, text: str = MEASURE_IT, *, missing: tuple[str, ...] = ()
) -> RouteSegment:
    return _segment(
        id,
        title,
        length=RouteLength(),
        where_from=LengthFrom.NO_FIGURE,
        text=text,
        basis=(NO_FIGURE,),
        missing=(*missing, f"length: {title} (measured_lengths_mm.{id})"),
    )


def _segment(
    id: str,
    title: str,
    *,
    length: RouteLength,
    where_from: LengthFrom,
    text: str,
    basis: tuple[Basis, ...],
    missing: tuple[str, ...] = (),
) -> RouteSegment:
    return RouteSegment(
        id=id,
        title=title,
        length=length,
        where_from=where_from,
        text=text,
        source="; ".join(dict.fromkeys(one.source for one in basis)),
        status=weakest(one.status for one in basis),
        limit_stands=all(isinstance(one, Citation) or one.stands for one in basis),
        missing=missing,
    )


def _depths(trunk: Vessel, from_mm: float, to_mm: float) -> list[float]:
    """What the map states of the scale's doubt by depth along a stretch."""
    return [
        depth
        for at_mm, depth in zip(trunk.arc_mm, trunk.depth_relative_sd, strict=True)
        if depth is not None and from_mm <= at_mm <= to_mm
    ]


def _scale_sd_mm(
    length_mm: float, depths: list[float], vein_map: VeinMap, protocol: Protocol
) -> float:
    """The scale errs the same way all along a stretch, as it does across a diameter."""
    parts_mm = measurement_sd_parts_mm(
        length_mm,
        length_mm * vein_map.calibration.relative_sd,
        fmean(depths) if depths else None,
        vein_map.calibration,
        protocol,
    )
    return combined_mm(parts_mm)
