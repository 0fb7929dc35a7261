"""What a catheter passes and reaches, and the order in which nothing bars its way."""

from collections.abc import Collection

import networkx as nx

from coilwright.veins.vein_network import NetworkVein, VeinNetwork


def reached_mm(network: VeinNetwork) -> dict[str, float]:
    """Points the catheter gets to along veins of passable width, with the way to them in mm.

    A vein that must not be closed may still be passed.
    """
    graph = nx.MultiGraph()
    graph.add_node(network.catheter.enters_at)
    for vein in network.veins:
        if passes(network, vein):
            graph.add_edge(vein.from_point, vein.to_point, length_mm=vein.length_mm)
    found: dict[str, float] = nx.single_source_dijkstra_path_length(
        graph, network.catheter.enters_at, weight="length_mm"
    )
    return found


def passes(network: VeinNetwork, vein: NetworkVein) -> bool:
    """Whether the vein is at least as wide as the catheter, relaxed where that is known."""
    return vein.passable_mm >= network.catheter.outer_diameter_mm


def closable(network: VeinNetwork) -> tuple[NetworkVein, ...]:
    """The veins that may be closed, let the catheter in, and have an end that it reaches."""
    reached = reached_mm(network)
    return tuple(
        vein
        for vein in network.veins
        if vein.may_occlude
        and passes(network, vein)
        and (vein.from_point in reached or vein.to_point in reached)
    )


def far_ones_first(network: VeinNetwork, closed: Collection[str]) -> tuple[str, ...]:
    """The ids in ``closed`` from the farthest to the nearest, by the way to the nearer end.

    The way to an end only leads through veins whose nearer end lies nearer still, so none of
    those has been closed when it is needed. Equally far ones stand by their ids.
    """
    reached = reached_mm(network)

    def nearer_end_mm(vein: NetworkVein) -> float:
        return min(reached[end] for end in (vein.from_point, vein.to_point) if end in reached)

    chosen = [vein for vein in network.veins if vein.id in closed]
    return tuple(v.id for v in sorted(chosen, key=lambda v: (-nearer_end_mm(v), v.id)))
