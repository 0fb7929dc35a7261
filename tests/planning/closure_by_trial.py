"""The least closure by trying every set of veins: networkx for paths, numpy for flow."""

import random
from collections.abc import Collection
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations

import networkx as nx
import numpy as np

from coilwright.veins.vein_network import (
    NetworkCatheter,
    NetworkPoint,
    NetworkVein,
    PointKind,
    VeinNetwork,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialAnswer:
    """What trying every set found."""

    complete: bool
    cost: Fraction
    occlude: frozenset[str]
    unreachable: tuple[str, ...]
    residual_conductance_share: float


def vein(
    vein_id: str,
    ends: str,
    *,
    cost: float = 1.0,
    diameter_mm: float = 3.0,
    length_mm: float = 10.0,
    relaxed_mm: float | None = None,
    may_occlude: bool = True,
) -> NetworkVein:
    """A vein between the two points named by the two words of ``ends``."""
    from_point, to_point = ends.split()
    return NetworkVein(
        id=vein_id,
        from_point=from_point,
        to_point=to_point,
        length_mm=length_mm,
        diameter_mm=diameter_mm,
        diameter_sd_mm=0.2,
        relaxed_diameter_mm=relaxed_mm,
        may_occlude=may_occlude,
        cost=cost,
    )


def network_of(
    points: str, *veins: NetworkVein, enters_at: str | None = None, outer_mm: float = 0.9
) -> VeinNetwork:
    """A network of points such as ``in>a b out!``: > marks an inflow, ! an outflow, . an end."""
    signs = {">": PointKind.INFLOW, "!": PointKind.OUTFLOW, ".": PointKind.END}
    made = tuple(
        NetworkPoint(id=word.rstrip(">!."), kind=signs.get(word[-1], PointKind.JUNCTION))
        for word in points.split()
    )
    catheter = NetworkCatheter(enters_at=enters_at or made[0].id, outer_diameter_mm=outer_mm)
    return VeinNetwork(points=made, veins=veins, catheter=catheter)


def random_network(seed: int) -> VeinNetwork:
    """Up to nine points and twelve veins: parallel ones, dead ends, ties and decimals in costs."""
    rng = random.Random(seed)
    count = rng.randint(2, 9)
    words = [rng.choice(["", "", "", ">", "!", "."]) for _ in range(count)]
    words[0], words[-1] = ">", "!"
    coarse = seed % 2 == 0
    veins = []
    for number in range(rng.randint(1, 12)):
        a, b = rng.sample(range(count), 2)
        veins.append(
            vein(
                f"v{number}",
                f"p{a} p{b}",
                cost=rng.choice([1.0, 1.0, 2.0, 0.1, 0.2, 0.3]),
                diameter_mm=rng.choice([1.0, 2.0]) if coarse else round(rng.uniform(0.6, 8), 1),
                length_mm=rng.choice([10.0, 20.0]) if coarse else round(rng.uniform(5, 200), 1),
                relaxed_mm=round(rng.uniform(0.6, 8), 1) if rng.random() < 0.3 else None,
                may_occlude=rng.random() < (0.9, 0.7, 0.5)[seed % 3],
            )
        )
    points = " ".join(f"p{place}{word}" for place, word in enumerate(words))
    enters_at = f"p{rng.randrange(count)}"
    return network_of(points, *veins, enters_at=enters_at, outer_mm=rng.choice([0.5, 0.9, 1.5]))


def graph_of(network: VeinNetwork, without: Collection[str] = ()) -> "nx.MultiGraph":
    graph = nx.MultiGraph()
    graph.add_nodes_from(point.id for point in network.points)
    for one in network.veins:
        if one.id not in without:
            g = one.diameter_mm**4 / one.length_mm
            graph.add_edge(one.from_point, one.to_point, key=one.id, g=g)
    return graph


def reached(network: VeinNetwork, without: Collection[str] = ()) -> set[str]:
    """Points that the catheter gets to."""
    narrow = {
        one.id
        for one in network.veins
        if (one.relaxed_diameter_mm or one.diameter_mm) < network.catheter.outer_diameter_mm
    }
    graph = graph_of(network, narrow | set(without))
    return set(nx.node_connected_component(graph, network.catheter.enters_at))


def outflow_side(network: VeinNetwork, without: Collection[str]) -> set[str]:
    """Points that some path joins to an outflow."""
    graph = graph_of(network, without)
    return set().union(*(nx.node_connected_component(graph, one) for one in network.outflows))


def conductance(network: VeinNetwork, without: Collection[str] = ()) -> float:
    """Flow from all inflows at 1 to all outflows at 0, by the Laplacian's normal solution."""
    graph = graph_of(network, without)
    both = [
        part
        for part in nx.connected_components(graph)
        if part & network.inflows and part & network.outflows
    ]
    nodes = sorted(set().union(*both)) if both else []
    fixed = {n: 1.0 for n in network.inflows} | {n: 0.0 for n in network.outflows}
    inner = [n for n in nodes if n not in fixed]
    matrix, right = np.zeros((len(inner), len(inner))), np.zeros(len(inner))
    for a, b, g in graph.edges(nodes, data="g"):
        for one, other in ((a, b), (b, a)):
            if one in inner:
                matrix[inner.index(one), inner.index(one)] += g
                if other in inner:
                    matrix[inner.index(one), inner.index(other)] -= g
                else:
                    right[inner.index(one)] += g * fixed[other]
    potential = fixed | dict(zip(inner, np.linalg.solve(matrix, right), strict=True))
    return float(
        sum(g * (potential[a] - potential[b]) ** 2 for a, b, g in graph.edges(nodes, data="g"))
    )


def closure_by_trial(network: VeinNetwork) -> TrialAnswer:
    """Every subset of the veins that can be closed, the cheapest that does most."""
    ends, width = reached(network), network.catheter.outer_diameter_mm
    can_close = [
        v
        for v in network.veins
        if v.may_occlude
        and (v.relaxed_diameter_mm or v.diameter_mm) >= width
        and {v.from_point, v.to_point} & ends
    ]
    most = {v.id for v in can_close}
    complete = not outflow_side(network, most) & network.inflows
    least = conductance(network, most) * (1 + 1e-9)

    def does_most(closed: frozenset[str]) -> bool:
        if complete:
            return not outflow_side(network, closed) & network.inflows
        return conductance(network, closed) <= least

    sets = [
        (sum((Fraction(str(v.cost)) for v in chosen), Fraction(0)), frozenset(v.id for v in chosen))
        for size in range(len(can_close) + 1)
        for chosen in combinations(can_close, size)
    ]
    best: tuple[Fraction, int, list[str]] | None = None
    for cost, closed in sorted(sets, key=lambda one: one[0]):
        if best is not None and cost > best[0]:
            break
        if does_most(closed):
            found = (cost, len(outflow_side(network, closed)), sorted(closed))
            best = found if best is None else min(best, found)
    if best is None:
        raise RuntimeError("closing all that can be closed does most, so some set does")
    before = conductance(network)
    return TrialAnswer(
        complete=complete,
        cost=best[0],
        occlude=frozenset(best[2]),
        unreachable=tuple(
            sorted(v.id for v in network.veins if v.may_occlude and v.id not in most)
        ),
        residual_conductance_share=0.0 if complete else conductance(network, best[2]) / before,
    )
