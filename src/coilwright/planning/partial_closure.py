"""The cheapest set of reachable veins that leaves the least conductance, where some path stays.

The least is left when every closable vein is closed: closing a vein never raises the conductance.
A closable vein may stay open at no loss exactly where both its ends have the same potential in
that network; then it carries nothing. Points joined to an inflow or outflow by veins that cannot
be closed have a fixed potential. The others float, and each group of them may take any: a cheapest
choice of potentials is a cheapest multiway cut, searched exactly. See docs/least-closure.md.
"""

from collections.abc import Sequence

from coilwright.planning.conductance import solve_flow
from coilwright.planning.exact_cost import whole_costs
from coilwright.planning.multiway_cut import cheapest_labels
from coilwright.planning.potential_groups import PotentialGroups, potential_groups
from coilwright.planning.untold_flow import SAME_FLOW_SHARE, cheapest_of_same_flow
from coilwright.veins.vein_network import NetworkVein, VeinNetwork, joined_to


def partial_closure(network: VeinNetwork, closable: Sequence[NetworkVein]) -> frozenset[str]:
    """Ids of the cheapest subset of ``closable`` that leaves as little flow as all of it.

    Among equally cheap ones, that which leaves the fewest points joined to an outflow; among
    those, the first by its sorted ids.
    """
    closing = {vein.id for vein in closable}
    staying = [vein for vein in network.veins if vein.id not in closing]
    solved = solve_flow(staying, network.inflows, network.outflows)
    groups = potential_groups(network, staying, solved)

    def closed_by(labels: dict[int, int]) -> frozenset[str]:
        def label(point: str) -> int:
            group = groups.of_point[point]
            # Floating groups that no closable vein joins to a fixed one need no label of their own.
            return labels.get(group, max(group, -1))

        return frozenset(v.id for v in closable if label(v.from_point) != label(v.to_point))

    def preference(closed: frozenset[str]) -> tuple[int, list[str]]:
        still_open = [vein for vein in network.veins if vein.id not in closed]
        return len(joined_to(network.outflows, still_open)), sorted(closed)

    labels = cheapest_labels(
        _weights(closable, groups), lambda labels: preference(closed_by(labels))
    )
    if groups.least_share > SAME_FLOW_SHARE:
        return closed_by(labels)
    return cheapest_of_same_flow(network, closable, closed_by(labels), preference)


def _weights(
    closable: Sequence[NetworkVein], groups: PotentialGroups
) -> dict[tuple[int, int], int]:
    """What it costs to hold two groups apart."""
    costs = whole_costs(closable)
    weights: dict[tuple[int, int], int] = {}
    for vein in closable:
        pair = (groups.of_point[vein.from_point], groups.of_point[vein.to_point])
        if pair[0] != pair[1]:
            weights[pair] = weights.get(pair, 0) + costs[vein.id]
    return weights
