"""Every way to the vein of one side, with what of the kit is long enough along it."""

from collections.abc import Mapping, Sequence
from datetime import date
from types import MappingProxyType

from coilwright.advice import Advisory
from coilwright.kit import Kit
from coilwright.planning.levels import (
    OSTIUM_MISSING,
    RAMUS_MISSING,
    Bench,
    distal_level,
    middle_level,
    upper_level,
)
from coilwright.planning.plan import Level
from coilwright.planning.route import (
    Access,
    Bend,
    Corner,
    LengthFrom,
    RouteOption,
    RouteSegment,
    RouteTarget,
    RouteToTarget,
)
from coilwright.planning.route_advice import (
    advise_access,
    advise_map,
    advise_path,
    advise_turns,
)
from coilwright.planning.route_bends import bends_between, tortuosity
from coilwright.planning.route_corners import corners_of
from coilwright.planning.route_disagreement import table_against_run, whole_against_parts
from coilwright.planning.route_length import total
from coilwright.planning.route_measured import LEVELS, check_height, check_measured
from coilwright.planning.route_segments import RouteBench, segment_to_level, segments_to_ostium
from coilwright.planning.working_length import (
    PathToReach,
    ReachOfKit,
    needed_catheter,
    needed_microcatheter,
)
from coilwright.protocol import Protocol
from coilwright.veins import Side, VeinMap

NO_MAP = "the vein on a run (vein map): how deep the levels lie"
NOTHING_MEASURED: Mapping[str, float] = MappingProxyType({})


def routes(
    vein_map: VeinMap | None,
    side: Side,
    kit: Kit,
    protocol: Protocol,
    *,
    measured_lengths_mm: Mapping[str, float] = NOTHING_MEASURED,
    height_cm: float | None = None,
    levels: Sequence[Level] | None = None,
    on: date | None = None,
) -> tuple[RouteOption, ...]:
    """Every way to the vein of one side, in no order of merit.

    Parameters
    ----------
    vein_map
        Null before any run. A map that states the other side is not used, and that is said.
    measured_lengths_mm
        Lengths measured with the wire or a ruler on the table; each replaces the estimate of its
        part. ``route_measured.measurable`` gives the names.
    height_cm
        For the published depth from the neck, the only part with a figure by body size.
    levels
        Those of the plan; null: worked out from the map as the plan does.
    on
        The day, to leave out what has expired; without it no expiry is judged.

    Raises
    ------
    RouteInputProblem
        A measured length or a height that cannot be used.

    References
    ----------
    REVIEW.md 3 (a projected length is a lower bound), 8 (arm and groin among the options).
    """
    check_measured(measured_lengths_mm, side)
    check_height(height_cm)
    other_side = vein_map is not None and vein_map.side is side.other
    usable_map = None if other_side else vein_map
    bench = RouteBench(
        vein_map=usable_map,
        side=side,
        protocol=protocol,
        measured_mm=measured_lengths_mm,
        height_cm=height_cm,
        levels=() if other_side else _levels(usable_map, levels, protocol),
    )
    reach = ReachOfKit(kit, protocol, on)
    of_map = (*advise_map(vein_map, side), *table_against_run(bench))
    return tuple(_option(access, bench, reach, of_map) for access in Access)


def _levels(
    vein_map: VeinMap | None, given: Sequence[Level] | None, protocol: Protocol
) -> tuple[Level, ...]:
    """The plan's levels without its coils: where they lie depends on no kit."""
    if given is not None:
        return tuple(given)
    if vein_map is None or vein_map.trunk is None:
        return ()
    bench = Bench(
        vein_map=vein_map,
        trunk=vein_map.trunk,
        kit=Kit(),
        deliveries={},
        protocol=protocol,
        on=None,
    )
    distal = distal_level(bench)
    upper = upper_level(bench, distal.stretch)
    worked = (distal, middle_level(bench, distal.stretch, upper.stretch), upper)
    return tuple(one.level for one in worked if one is not None and one.level is not None)


def _option(
    access: Access, bench: RouteBench, reach: ReachOfKit, of_map: tuple[Advisory, ...]
) -> RouteOption:
    to_ostium = segments_to_ostium(access, bench)
    corners = corners_of(access, bench.side, bench.protocol)
    further = _to_levels(bench)
    paths = [_path(RouteTarget.OSTIUM, to_ostium, corners, bench, reach)]
    for target, segment in further.items():
        paths.append(_path(target, (*to_ostium, segment), corners, bench, reach))
    segments = (*to_ostium, *further.values())
    advisories = [*of_map, *whole_against_parts(access, bench)]
    for path in paths:
        advisories += advise_path(path, segments, access, bench.protocol)
    advisories.append(advise_turns(paths, corners, bench.protocol))
    advisories += advise_access(access, bench.side, bench.protocol)
    missing = [item for segment in segments for item in segment.missing]
    missing += [item for advisory in advisories for item in advisory.missing]
    missing += _behind_levels(bench, further)
    return RouteOption(
        access=access,
        site=access.site,
        side=bench.side,
        segments=segments,
        corners=corners,
        targets=tuple(paths),
        advisories=tuple(advisories),
        missing=tuple(dict.fromkeys(missing)),
    )


def _behind_levels(bench: RouteBench, found: Mapping[RouteTarget, RouteSegment]) -> list[str]:
    """What keeps the distal or the upper level from having a path."""
    if bench.vein_map is None or bench.trunk is None:
        return [NO_MAP]
    marks = bench.vein_map.landmarks
    missing = []
    if RouteTarget.DISTAL not in found and marks.superior_ramus_edge is None:
        missing.append(RAMUS_MISSING)
    if RouteTarget.UPPER not in found and marks.ostium is None:
        missing.append(OSTIUM_MISSING)
    return missing


def _to_levels(bench: RouteBench) -> dict[RouteTarget, RouteSegment]:
    by_target = {RouteTarget(level.name): level for level in bench.levels}
    found = {}
    for target in LEVELS:
        segment = segment_to_level(target, by_target.get(target), bench)
        if segment is not None:
            found[target] = segment
    return found


def _path(
    target: RouteTarget,
    segments: tuple[RouteSegment, ...],
    corners: tuple[Corner, ...],
    bench: RouteBench,
    reach: ReachOfKit,
) -> RouteToTarget:
    length = total(segment.length for segment in segments)
    to_reach = PathToReach(
        length=length, limits_stand=all(segment.limit_stands for segment in segments)
    )
    bends, winding = _course(target, bench)
    known = [segment for segment in segments if segment.length.known]
    return RouteToTarget(
        target=target,
        segments=tuple(segment.id for segment in segments),
        length=length,
        measured=tuple(s.id for s in known if s.where_from is not LengthFrom.PUBLISHED),
        estimated=tuple(s.id for s in known if s.where_from is LengthFrom.PUBLISHED),
        unknown=tuple(s.id for s in segments if not s.length.known),
        bends=bends,
        tortuosity=winding,
        turns_at_least=len(corners) + len(bends or ()),
        needed_catheter=needed_catheter(length, bench.protocol),
        needed_microcatheter=needed_microcatheter(length, bench.protocol),
        catheters=reach.catheters(to_reach),
        microcatheters=reach.microcatheters(to_reach),
    )


def _course(target: RouteTarget, bench: RouteBench) -> tuple[tuple[Bend, ...] | None, float | None]:
    """Bends and tortuosity of the vein from its ostium, or where it is first seen, to a level."""
    level = next((one for one in bench.levels if RouteTarget(one.name) is target), None)
    vein_map, trunk = bench.vein_map, bench.trunk
    if level is None or vein_map is None or trunk is None:
        return None, None
    start_mm = trunk.arc_mm[0] if bench.ostium is None else bench.ostium.arc_mm
    bends = bends_between(trunk, start_mm, level.zone.to_mm, bench.protocol)
    scale = vein_map.calibration.mm_per_pixel
    return bends, tortuosity(trunk, start_mm, level.zone.to_mm, mm_per_pixel=scale)
