"""The cheapest set of veins that parts every inflow from every outflow: a minimum cut."""

from collections.abc import Collection

from coilwright.planning.exact_cost import whole_costs
from coilwright.planning.smallest_side import smallest_side
from coilwright.veins.vein_network import NetworkVein, VeinNetwork, joined_to

_INFLOW = ("inflow", "")
_OUTFLOW = ("outflow", "")


def complete_closure(
    network: VeinNetwork, closable: Collection[NetworkVein]
) -> frozenset[str] | None:
    """Ids of the cheapest closure that leaves no path, the outflow side smallest; None without one.

    All inflows are one node and all outflows another. A vein that cannot be closed is dearer than
    all the others together.
    """
    closing = {vein.id for vein in closable}
    if joined_to(network.outflows, _others(network, closing)) & network.inflows:
        return None
    costs = whole_costs(closable)
    never = sum(costs.values()) + 1
    capacities: dict[tuple[tuple[str, str], tuple[str, str]], int] = {}
    for vein in network.veins:
        a, b = (_node(network, end) for end in (vein.from_point, vein.to_point))
        if a != b:
            capacities[a, b] = capacities.get((a, b), 0) + costs.get(vein.id, never)
    below = smallest_side(capacities, _INFLOW, _OUTFLOW)
    return frozenset(
        vein.id
        for vein in network.veins
        if (_node(network, vein.from_point) in below) != (_node(network, vein.to_point) in below)
    )


def _others(network: VeinNetwork, closing: set[str]) -> list[NetworkVein]:
    return [vein for vein in network.veins if vein.id not in closing]


def _node(network: VeinNetwork, point: str) -> tuple[str, str]:
    if point in network.inflows:
        return _INFLOW
    return _OUTFLOW if point in network.outflows else ("point", point)
