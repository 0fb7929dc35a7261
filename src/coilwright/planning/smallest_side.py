"""The cheapest cut between two nodes of a weighted graph, as near to one of them as there is."""

from collections.abc import Hashable, Mapping
from typing import TypeVar

import networkx as nx
from networkx.algorithms.flow import shortest_augmenting_path

Node = TypeVar("Node", bound=Hashable)


def smallest_side(
    capacities: Mapping[tuple[Node, Node], int], source: Node, sink: Node
) -> set[Node]:
    """The nodes on the sink's side of a cheapest cut; of all such sides the smallest.

    They are the nodes with a way to the sink along which more could still flow, once the greatest
    flow flows. That set lies within the sink's side of every cheapest cut, so it is the only
    smallest one. Capacities are whole numbers above 0 and hold in both directions.

    References
    ----------
    Picard and Queyranne, "On the structure of all minimum cuts in a network and applications",
    Mathematical Programming Study 13, 1980.
    """
    graph = nx.Graph()
    graph.add_nodes_from((source, sink))
    for (a, b), capacity in capacities.items():
        if graph.has_edge(a, b):
            graph[a][b]["capacity"] += capacity
        else:
            graph.add_edge(a, b, capacity=capacity)
    residual = shortest_augmenting_path(graph, source, sink)
    found, waiting = {sink}, [sink]
    while waiting:
        node = waiting.pop()
        for before, _, arc in residual.in_edges(node, data=True):
            if before not in found and arc["flow"] < arc["capacity"]:
                found.add(before)
                waiting.append(before)
    return found
