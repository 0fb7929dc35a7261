"""The vessels of the map in words."""

from coilwright.documents.figures import NOT_MEASURED, at_least_mm, calibre_mm
from coilwright.documents.page import VeinRow
from coilwright.planning.trunk_course import project_onto
from coilwright.veins import DiameterMethod, Narrowing, OwnEnd, VeinMap, Vessel, VesselKind

KIND_WORDS = {
    VesselKind.TRUNK: "main vein",
    VesselKind.SIDE_VEIN: "side vein",
    VesselKind.DUPLICATE: "duplicate",
    VesselKind.TANGLE: "tangle",
}
METHOD_WORDS = {
    DiameterMethod.PROFILE: "fitted to the contrast profile",
    DiameterMethod.EDGE_WIDTH: "edge to edge, wide uncertainty",
    DiameterMethod.GIVEN: "given by hand",
}


def trunk_origin_mm(vein_map: VeinMap, trunk: Vessel) -> tuple[float, str]:
    """The arc that distances along the trunk are told from, and what lies there."""
    ostium = vein_map.landmarks.ostium
    if ostium is None:
        return trunk.arc_mm[0], "the highest point seen (ostium not shown)"
    projected = project_onto(trunk, ostium.point_px, mm_per_pixel=vein_map.calibration.mm_per_pixel)
    return projected.arc_mm, "the ostium"


def vein_rows(vein_map: VeinMap | None) -> tuple[VeinRow, ...]:
    """Every vessel of the map, the main vein first as the map has it."""
    if vein_map is None:
        return ()
    return tuple(_row(vein_map, vessel) for vessel in vein_map.vessels)


def calibre_range(vessel: Vessel) -> str:
    """Narrowest to widest, each with its own standard deviation, and what was not measured."""
    known = [
        (diameter, sd)
        for diameter, sd in zip(vessel.diameter_mm, vessel.diameter_sd_mm, strict=True)
        if diameter is not None
    ]
    if not known:
        return NOT_MEASURED
    (low, low_sd), (high, high_sd) = (end(known, key=lambda k: k[0]) for end in (min, max))
    words = f"{calibre_mm(low, low_sd).removesuffix(' mm')} to {calibre_mm(high, high_sd)}"
    unknown = 1 - len(known) / len(vessel.diameter_mm)
    if unknown < 0.005:
        return words
    return f"{words}; {NOT_MEASURED} over {100 * unknown:.0f} % of its course"


def narrowing_words(narrowing: Narrowing, vessel: Vessel) -> str:
    """What is seen and what it probably is when relaxed: "2.9 mm, probably 4.6 ± 0.4 mm"."""
    seen = [
        diameter
        for at_mm, diameter in zip(vessel.arc_mm, vessel.diameter_mm, strict=True)
        if diameter is not None and narrowing.from_mm <= at_mm <= narrowing.to_mm
    ]
    if narrowing.relaxed_diameter_mm is None:
        probably = "relaxed calibre unknown"
    else:
        relaxed = calibre_mm(narrowing.relaxed_diameter_mm, narrowing.relaxed_sd_mm)
        probably = f"probably {relaxed}"
    return f"{calibre_mm(min(seen, default=None))}, {probably}"


def _row(vein_map: VeinMap, vessel: Vessel) -> VeinRow:
    return VeinRow(
        vessel=vessel.id,
        kind=KIND_WORDS[vessel.kind],
        joins=_joins(vein_map, vessel),
        length=at_least_mm(vessel.length_mm) + (", leaves the frame" * vessel.leaves_frame),
        calibre=calibre_range(vessel),
        how=METHOD_WORDS[vessel.diameter_method],
        narrowings="; ".join(_narrowings(vein_map, vessel)) or "none seen",
    )


def _narrowings(vein_map: VeinMap, vessel: Vessel) -> list[str]:
    start_mm = 0.0
    if vessel.kind is VesselKind.TRUNK:
        start_mm, _ = trunk_origin_mm(vein_map, vessel)
    return [
        f"at {n.from_mm - start_mm:.0f} to {n.to_mm - start_mm:.0f} mm: "
        f"{narrowing_words(n, vessel)}"
        for n in vessel.narrowings
    ]


def _joins(vein_map: VeinMap, vessel: Vessel) -> str:
    trunk = vein_map.trunk
    places = []
    for join in sorted(vessel.joins, key=lambda join: join.own_end is OwnEnd.END):
        at_mm = join.at_mm
        if trunk is not None and join.vessel == trunk.id:
            at_mm -= trunk_origin_mm(vein_map, trunk)[0]
        places.append(f"{join.vessel} at {at_mm:.0f} mm")
    return " and ".join(places)
