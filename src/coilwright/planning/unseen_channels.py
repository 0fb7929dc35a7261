"""Channels that nobody saw: a stated prior of how many, where and how wide.

Recurrence comes from veins nobody saw (practitioner's review, truth and safety 4). No series was
found that gives their number or calibre, so the prior is our own, in the local limits, for a site
to change. A channel may join any two points of the network with equal chance, and is longer by a
fixed factor than the shortest way between them along the veins that are known.
"""

from dataclasses import dataclass
from itertools import combinations

import networkx as nx
import numpy as np
import numpy.typing as npt

from coilwright.protocol import Protocol
from coilwright.veins.vein_network import VeinNetwork, joined_to

Array = npt.NDArray[np.float64]

PRIOR_LIMITS = (
    "unseen-channels-mean",
    "unseen-channel-calibre",
    "unseen-channel-calibre-spread",
    "unseen-channel-length-ratio",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class UnseenPrior:
    """How many channels to expect (Poisson), and their calibre (lognormal).

    ``calibre_spread`` is the factor either side of the median that holds 68 %.
    """

    mean_number: float
    median_calibre_mm: float
    calibre_spread: float
    length_ratio: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """Two points that an unseen channel could join, and how long it would be."""

    one: str
    other: str
    length_mm: float


def prior_of(protocol: Protocol) -> UnseenPrior:
    """The prior by the department's limits."""
    number, calibre, spread, ratio = (protocol.limit(id).value for id in PRIOR_LIMITS)
    return UnseenPrior(
        mean_number=number,
        median_calibre_mm=calibre,
        calibre_spread=spread,
        length_ratio=ratio,
    )


def candidates_of(network: VeinNetwork, length_ratio: float) -> tuple[Candidate, ...]:
    """Every two points that are joined to an inflow or outflow and to each other.

    Two inflows, or two outflows, share one pressure: a channel between them carries nothing.
    """
    lengths = _shortest_ways(network)
    ends = (network.inflows, network.outflows)
    joined = joined_to(network.inflows | network.outflows, network.veins)
    names = [point.id for point in network.points if point.id in joined]
    return tuple(
        Candidate(one=a, other=b, length_mm=length_ratio * lengths[a][b])
        for a, b in combinations(names, 2)
        if b in lengths[a] and not any(a in end and b in end for end in ends)
    )


def _shortest_ways(network: VeinNetwork) -> dict[str, dict[str, float]]:
    """Length in mm of the shortest way along known veins, from each point to each it reaches."""
    graph = nx.MultiGraph()
    graph.add_nodes_from(point.id for point in network.points)
    for vein in network.veins:
        graph.add_edge(vein.from_point, vein.to_point, length_mm=vein.length_mm)
    return dict(nx.all_pairs_dijkstra_path_length(graph, weight="length_mm"))


def unseen_conductances_mm3(
    candidates: tuple[Candidate, ...],
    prior: UnseenPrior,
    scale: Array,
    generator: np.random.Generator,
) -> Array:
    """Conductance (candidates, draws) of the unseen channels; 0 where a draw has none.

    ``scale`` (draws,) is the common error of length: known lengths are wrong by it together.
    """
    draws = len(scale)
    found = np.zeros((len(candidates), draws))
    if not candidates:
        return found
    in_draw = np.repeat(np.arange(draws), generator.poisson(prior.mean_number, draws))
    place = generator.integers(len(candidates), size=len(in_draw))
    normals = generator.standard_normal(len(in_draw))
    calibre_mm = prior.median_calibre_mm * prior.calibre_spread**normals
    length_mm = np.array([one.length_mm for one in candidates])[place] * scale[in_draw]
    np.add.at(found, (place, in_draw), calibre_mm**4 / length_mm)
    return found
