"""The least closure: the cheapest set of veins that leaves no path from inflow to outflow.

It is the least that must be shut of what the network shows, not the plan: recurrence comes from
veins that nobody saw (practitioner's review, truth and safety 4).
"""

from dataclasses import dataclass

from coilwright.advice import DISCLAIMER
from coilwright.planning.catheter_reach import closable, far_ones_first
from coilwright.planning.complete_closure import complete_closure
from coilwright.planning.conductance import solve_flow
from coilwright.planning.exact_cost import total_cost
from coilwright.planning.open_pathways import open_pathways
from coilwright.planning.partial_closure import partial_closure
from coilwright.veins.vein_network import VeinNetwork


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastClosure:
    """What to close at the least, and what stays open.

    ``occlude`` stands in the order of placement, far ones first. ``unreachable`` are the veins
    that may be closed but do not let the catheter in or have no end that it reaches.
    ``residual_conductance_share`` is the laminar conductance after closure over before, 0 to 1:
    a figure of this model for comparing options, never a result. ``assumptions`` say what was
    taken for granted where the network was made from a map.
    """

    complete: bool
    cost: float
    occlude: tuple[str, ...]
    open_pathways: tuple[tuple[str, ...], ...]
    open_pathways_cut_short: bool
    unreachable: tuple[str, ...]
    residual_conductance_share: float
    assumptions: tuple[str, ...] = ()
    disclaimer: str = DISCLAIMER


def least_closure(network: VeinNetwork, assumptions: tuple[str, ...] = ()) -> LeastClosure:
    """The least closure of a network.

    The cheapest complete closure; of equally cheap ones that which leaves the fewest points joined
    to an outflow. Where no complete one exists, the cheapest that leaves the least conductance.
    """
    can_close = closable(network)
    complete = complete_closure(network, can_close)
    closed = partial_closure(network, can_close) if complete is None else complete
    still_open = open_pathways(network, closed)
    reachable = {vein.id for vein in can_close}
    return LeastClosure(
        complete=complete is not None,
        cost=total_cost(vein for vein in network.veins if vein.id in closed),
        occlude=far_ones_first(network, closed),
        open_pathways=still_open.paths,
        open_pathways_cut_short=still_open.cut_short,
        unreachable=tuple(
            sorted(v.id for v in network.veins if v.may_occlude and v.id not in reachable)
        ),
        residual_conductance_share=_share_left(network, closed),
        assumptions=assumptions,
    )


def _share_left(network: VeinNetwork, closed: frozenset[str]) -> float:
    """Conductance after closure over before; 0 where there was none."""
    ends = (network.inflows, network.outflows)
    before_mm3 = solve_flow(network.veins, *ends).conductance_mm3
    if before_mm3 == 0.0:
        return 0.0
    still_open = [vein for vein in network.veins if vein.id not in closed]
    # Rounding alone could put the share of a network in which nothing was closed above 1.
    return min(solve_flow(still_open, *ends).conductance_mm3 / before_mm3, 1.0)
