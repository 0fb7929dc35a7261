"""Laminar conductance of one network in many draws at once: the order is found once.

The draws share their topology, so the order in which points are taken out, and which pair of
points each new conductance belongs to, are worked out once (:func:`reduction_of`); every step is
then one operation over all draws. Taking a point out replaces its star of veins by the mesh that
conducts alike (Campbell 1911; Rosen 1924): positive numbers are added, multiplied and divided and
never subtracted, so no digits are lost although conductances span the fourth power of a calibre.

Nodes are numbers: 0 is all inflows together, 1 all outflows together. Conductances may carry any
unit. Arrays are (edges, draws), (pairs, draws) or (nodes, draws).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

INFLOW, OUTFLOW = 0, 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """A channel between two nodes; ``certain`` where its conductance is above 0 in every draw."""

    a: int
    b: int
    certain: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Removal:
    """One node taken out: its arms (pair numbers, other nodes) and the mesh that replaces them.

    ``one`` and ``other`` number two arms, ``mesh`` the pair that joins their far ends. ``certain``
    where at least one arm conducts in every draw.
    """

    node: int
    arms: Indices
    neighbours: Indices
    one: Indices
    other: Indices
    mesh: Indices
    certain: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """The order of removals for one topology; ``through`` is the pair inflow to outflow."""

    node_count: int
    pair_count: int
    edge_pairs: tuple[int, ...]
    removals: tuple[Removal, ...]
    through: int | None


def reduction_of(edges: Iterable[Edge], node_count: int) -> Reduction:
    """Work out the order for one topology, fewest neighbours first.

    Raises
    ------
    ValueError
        An edge that leaves and enters the same node.
    """
    pairs = _Pairs(node_count)
    edge_pairs = tuple(pairs.join(edge.a, edge.b, edge.certain) for edge in edges)
    inner, removals = set(range(2, node_count)), []
    while inner:
        node = min(inner, key=lambda one: (len(pairs.at[one]), one))
        inner.remove(node)
        if pairs.at[node]:
            removals.append(pairs.take_out(node))
    return Reduction(
        node_count=node_count,
        pair_count=len(pairs.certain),
        edge_pairs=edge_pairs,
        removals=tuple(removals),
        through=pairs.at[INFLOW].get(OUTFLOW),
    )


class _Pairs:
    """The numbered pairs of nodes that something joins, while nodes are taken out."""

    def __init__(self, node_count: int) -> None:
        self.at: list[dict[int, int]] = [{} for _ in range(node_count)]
        self.certain: list[bool] = []

    def join(self, a: int, b: int, certain: bool) -> int:
        if a == b:
            raise ValueError(f"an edge leaves and enters the same node {a}")
        if b not in self.at[a]:
            self.at[a][b] = self.at[b][a] = len(self.certain)
            self.certain.append(False)
        pair = self.at[a][b]
        self.certain[pair] = self.certain[pair] or certain
        return pair

    def take_out(self, node: int) -> Removal:
        neighbours = sorted(self.at[node])
        arms = [self.at[node][other] for other in neighbours]
        for other in neighbours:
            del self.at[other][node]
        twos = list(combinations(range(len(arms)), 2))
        sure = [self.certain[arm] for arm in arms]
        mesh = [self.join(neighbours[i], neighbours[j], sure[i] and sure[j]) for i, j in twos]
        return Removal(
            node=node,
            arms=_indices(arms),
            neighbours=_indices(neighbours),
            one=_indices([i for i, _ in twos]),
            other=_indices([j for _, j in twos]),
            mesh=_indices(mesh),
            certain=any(sure),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class ManyFlows:
    """One reduction carried out for many draws.

    ``conductance`` (draws,) is what the network conducts from inflows to outflows; ``potentials``
    (nodes, draws) are 1 at the inflows and 0 at the outflows, and 0 where nothing joins either.
    """

    conductance: Array
    potentials: Array


def conductance_of(reduction: Reduction, edges: Array) -> Array:
    """Conductance (draws,) from inflows to outflows; ``edges`` (edges, draws), none negative.

    Examples
    --------
    >>> two_in_a_row = reduction_of([Edge(a=0, b=2), Edge(a=2, b=1)], 3)
    >>> conductance_of(two_in_a_row, np.array([[3.0, 2.0], [6.0, 2.0]]))
    array([2., 1.])
    """
    pairs = _pairs_filled(reduction, edges)
    for removal in reduction.removals:
        _take_out(pairs, removal)
    return _through(reduction, pairs)


def flows_of(reduction: Reduction, edges: Array) -> ManyFlows:
    """Conductance and potentials; shapes and terms as in :func:`conductance_of`."""
    pairs = _pairs_filled(reduction, edges)
    shares = [_take_out(pairs, removal) for removal in reduction.removals]
    potentials = np.zeros((reduction.node_count, edges.shape[1]))
    potentials[INFLOW] = 1.0
    for removal, share in zip(reversed(reduction.removals), reversed(shares), strict=True):
        potentials[removal.node] = np.sum(share * potentials[removal.neighbours], axis=0)
    return ManyFlows(conductance=_through(reduction, pairs), potentials=potentials)


def _pairs_filled(reduction: Reduction, edges: Array) -> Array:
    if edges.ndim != 2 or len(edges) != len(reduction.edge_pairs):
        raise ValueError(f"{len(reduction.edge_pairs)} edges are needed, got {edges.shape}")
    pairs = np.zeros((reduction.pair_count, edges.shape[1]))
    for pair, edge in zip(reduction.edge_pairs, edges, strict=True):
        pairs[pair] += edge
    return pairs


def _take_out(pairs: Array, removal: Removal) -> Array:
    """Add the mesh of one removed node to ``pairs``; the share of each arm, (arms, draws)."""
    arms = pairs[removal.arms]
    total = arms.sum(axis=0)
    if not removal.certain:
        # No arm conducts in some draws: nothing passes through the node, and 0 / 1 says so.
        total[total == 0.0] = 1.0
    share: Array = arms / total
    if len(removal.mesh):
        # The pairs of one mesh are all different, so adding at them in one go loses none.
        pairs[removal.mesh] += arms[removal.one] * share[removal.other]
    return share


def _through(reduction: Reduction, pairs: Array) -> Array:
    through: Array = (
        np.zeros(pairs.shape[1]) if reduction.through is None else pairs[reduction.through]
    )
    return through


def _indices(numbers: Sequence[int]) -> Indices:
    return np.array(numbers, dtype=np.intp)
