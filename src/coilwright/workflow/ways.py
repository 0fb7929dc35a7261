"""The ways to the vein and the stop rules, worked out beside a plan."""

from dataclasses import replace
from datetime import date

from coilwright.kit import Kit
from coilwright.planning import OcclusionPlan
from coilwright.planning.routes import routes
from coilwright.planning.stop_rules import stop_rules
from coilwright.protocol import Protocol
from coilwright.record import Case
from coilwright.veins import VeinMap


def with_ways(
    plan: OcclusionPlan, case: Case, vein_map: VeinMap, kit: Kit, protocol: Protocol, on: date
) -> OcclusionPlan:
    """The plan with every way to its vein; a side that is not agreed has none.

    What was spent without cannulation is not in the case: the stop rules stand with their limits
    alone.
    """
    if plan.side is None:
        return plan
    ways = routes(
        vein_map,
        plan.side,
        kit,
        protocol,
        measured_lengths_mm={one.part: one.length_mm for one in case.access.measured},
        height_cm=case.patient.height_cm,
        levels=plan.levels,
        on=on,
    )
    rules = stop_rules(
        kit, protocol, minutes=None, kap_gy_cm2=None, contrast_ml=None, ways=ways, on=on
    )
    return replace(plan, routes=ways, stop_rules=rules)
