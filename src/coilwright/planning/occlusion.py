"""From a vein map, a kit and the local limits to a plan of occlusion."""

from dataclasses import replace
from datetime import date

from coilwright.advice import Advisory
from coilwright.kit import Kit, Ways, check_deliveries, delivery_ways
from coilwright.planning.coil_ranking import ORDER_RULE
from coilwright.planning.levels import (
    Bench,
    Worked,
    distal_level,
    middle_level,
    upper_level,
)
from coilwright.planning.network_findings import NetworkFindings, network_findings
from coilwright.planning.network_marks import NetworkMarks
from coilwright.planning.plan import Level, OcclusionPlan
from coilwright.planning.plan_advice import (
    ASSUMPTIONS,
    advise_plan,
    calibration_summary,
    further_missing,
)
from coilwright.planning.sclerosant_figure import SclerosantFigure
from coilwright.planning.sclerosant_volume import vein_between
from coilwright.protocol import Protocol
from coilwright.veins import VeinMap


def plan_occlusion(
    vein_map: VeinMap,
    kit: Kit,
    protocol: Protocol,
    *,
    advisories: tuple[Advisory, ...] = (),
    on: date | None = None,
    marks: NetworkMarks | None = None,
) -> OcclusionPlan:
    """Where to close the trunk and with which coil, how sure that is, and what is missing.

    Parameters
    ----------
    advisories
        Of the assessment; they head the plan's own.
    on
        The day of the procedure, for expiry. Without it no expiry is judged, and that is said.
    marks
        What the operator adds to the map to make a network of it. Without them the free ends of
        side veins lead nowhere, and that is said.

    Returns
    -------
    OcclusionPlan
        Levels in the order of placement (far one first). A level whose landmark is missing is not
        guessed: it is left out, with an advisory that names the landmark. A map without a trunk
        gives a plan without levels.

    Raises
    ------
    MarksDoNotFit
        A mark names what the map does not have.

    References
    ----------
    REVIEW.md 3 (what the chance of an undersized coil includes), 4 (two levels), 6 (hard floor),
    7 (sclerosant volume), 9 (delivery), 12 (limits from memory).
    """
    ways = delivery_ways(kit, protocol, on)
    works = _work(vein_map, kit, ways, protocol, on)
    found = [worked.level for worked in works if worked.level is not None]
    levels = tuple(replace(level, order=order) for order, level in enumerate(found, start=1))
    own = [advisory for worked in works for advisory in worked.advisories]
    judged = _judged(vein_map, marks, ways, levels, advisories, protocol)
    everything = (
        *advisories,
        *own,
        *(() if judged is None else judged.advisories),
        *advise_plan(vein_map, levels, protocol, on),
    )
    missing = [item for advisory in everything for item in advisory.missing]
    assumed = [text for worked in works for text in worked.assumptions]
    assumed += () if judged is None else judged.assumptions
    return OcclusionPlan(
        side=vein_map.side,
        levels=levels,
        order_rule=ORDER_RULE,
        sclerosant=_between(vein_map, works, protocol),
        least_closure=None if judged is None else judged.least,
        advisories=everything,
        assumptions=tuple(dict.fromkeys((*ASSUMPTIONS, *assumed))),
        missing=tuple(dict.fromkeys((*missing, *further_missing(vein_map)))),
        vein_map_calibration=calibration_summary(vein_map),
        pathways_left=None if judged is None else judged.left,
        techniques=None if judged is None else judged.techniques,
    )


def _judged(
    vein_map: VeinMap,
    marks: NetworkMarks | None,
    ways: Ways,
    levels: tuple[Level, ...],
    advisories: tuple[Advisory, ...],
    protocol: Protocol,
) -> NetworkFindings | None:
    trunk = vein_map.trunk
    if trunk is None:
        return None
    return network_findings(vein_map, trunk, marks, ways, levels, advisories, protocol)


def _work(
    vein_map: VeinMap, kit: Kit, ways: Ways, protocol: Protocol, on: date | None
) -> tuple[Worked, ...]:
    """The distal level, the middle one where something asks for it, then the upper one."""
    trunk = vein_map.trunk
    if trunk is None:
        return ()
    bench = Bench(
        vein_map=vein_map,
        trunk=trunk,
        kit=kit,
        deliveries=check_deliveries((*kit.coils, *kit.plugs), ways, protocol),
        protocol=protocol,
        on=on,
    )
    distal = distal_level(bench)
    upper = upper_level(bench, distal.stretch)
    middle = middle_level(bench, distal.stretch, upper.stretch)
    return (distal, upper) if middle is None else (distal, middle, upper)


def _between(
    vein_map: VeinMap, works: tuple[Worked, ...], protocol: Protocol
) -> SclerosantFigure | None:
    """Between the distal and the upper level; a middle level does not shorten it."""
    if vein_map.trunk is None or not works:
        return None
    distal, upper = works[0].stretch, works[-1].stretch
    if distal is None or upper is None:
        return None
    return vein_between(vein_map.trunk, upper.to_mm, distal.from_mm, vein_map.calibration, protocol)
