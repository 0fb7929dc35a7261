"""From a vein map, a kit and the local limits to a plan of occlusion."""

from dataclasses import replace
from datetime import date

from coilwright.advice import Advisory
from coilwright.kit import Kit, check_delivery, delivery_ways
from coilwright.planning.coil_ranking import ORDER_RULE
from coilwright.planning.levels import Bench, Worked, distal_level, upper_level
from coilwright.planning.plan import OcclusionPlan, SclerosantFigure
from coilwright.planning.plan_advice import (
    ASSUMPTIONS,
    advise_plan,
    calibration_summary,
    further_missing,
)
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
) -> OcclusionPlan:
    """Where to close the trunk and with which coil, how sure that is, and what is missing.

    Parameters
    ----------
    advisories
        Of the assessment; they head the plan's own.
    on
        The day of the procedure, for expiry. Without it no expiry is judged, and that is said.

    Returns
    -------
    OcclusionPlan
        Levels in the order of placement (far one first). A level whose landmark is missing is not
        guessed: it is left out, with an advisory that names the landmark. A map without a trunk
        gives a plan without levels.

    References
    ----------
    REVIEW.md 3 (what the chance of an undersized coil includes), 4 (two levels), 6 (hard floor),
    7 (sclerosant volume), 9 (delivery), 12 (limits from memory).
    """
    works = _work(vein_map, kit, protocol, on)
    found = [worked.level for worked in works if worked.level is not None]
    levels = tuple(replace(level, order=order) for order, level in enumerate(found, start=1))
    own = [advisory for worked in works for advisory in worked.advisories]
    everything = (*advisories, *own, *advise_plan(vein_map, levels, protocol, on))
    missing = [item for advisory in everything for item in advisory.missing]
    assumed = [text for worked in works for text in worked.assumptions]
    return OcclusionPlan(
        side=vein_map.side,
        levels=levels,
        order_rule=ORDER_RULE,
        sclerosant=_between(vein_map, works, protocol),
        least_closure=None,
        advisories=everything,
        assumptions=tuple(dict.fromkeys((*ASSUMPTIONS, *assumed))),
        missing=tuple(dict.fromkeys((*missing, *further_missing(vein_map)))),
        vein_map_calibration=calibration_summary(vein_map),
    )


def _work(vein_map: VeinMap, kit: Kit, protocol: Protocol, on: date | None) -> tuple[Worked, ...]:
    """The distal level, then the upper one."""
    trunk = vein_map.trunk
    if trunk is None:
        return ()
    ways = delivery_ways(kit, protocol, on)
    bench = Bench(
        vein_map=vein_map,
        trunk=trunk,
        kit=kit,
        deliveries={
            coil.id: check_delivery(coil, kit, protocol, on=on, ways=ways) for coil in kit.coils
        },
        protocol=protocol,
        on=on,
    )
    distal = distal_level(bench)
    return distal, upper_level(bench, distal.stretch)


def _between(
    vein_map: VeinMap, works: tuple[Worked, ...], protocol: Protocol
) -> SclerosantFigure | None:
    stretches = [worked.stretch for worked in works if worked.stretch is not None]
    if vein_map.trunk is None or len(stretches) < 2:
        return None
    distal, upper = stretches
    return vein_between(vein_map.trunk, upper.to_mm, distal.from_mm, vein_map.calibration, protocol)
