"""The cheapest way to give every floating node the label of a fixed one, searched exactly.

An edge costs its weight where its ends bear different labels. With two labels it is a minimum cut;
with more it is hard in general, so what a cheapest cut already settles is settled first and the
rest is searched branch by branch.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from coilwright.planning.smallest_side import smallest_side

Weights = Mapping[tuple[int, int], int]
Labels = dict[int, int]
# Equally cheap labellings that are compared before the best of them is taken.
TIES_COMPARED = 20_000
_REST = "rest"


def cheapest_labels(weights: Weights, preference: Callable[[Labels], Any]) -> Labels:
    """A label (a node from 0) for every node below 0 that an edge joins to a fixed one.

    The cheapest; of equally cheap ones that with the least ``preference``. After ``TIES_COMPARED``
    equally cheap ones the least so far stands: the cost is still the least there is.
    """
    joined = _joined(weights)
    return _Search(
        {pair: w for pair, w in weights.items() if set(pair) <= joined}, preference
    ).best()


def _joined(weights: Weights) -> set[int]:
    """The nodes that some path of edges joins to a fixed one."""
    found = {node for pair in weights for node in pair if node >= 0}
    grown = True
    while grown:
        more = {n for pair in weights if found & set(pair) for n in pair} - found
        grown = bool(more)
        found |= more
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Settled:
    """Labels that every cheapest labelling gives, and what any labelling costs at the least."""

    labels: Labels
    least: int


def _settled(weights: Weights) -> _Settled:
    """What the cheapest cuts of each fixed node against all others settle.

    Nodes on a fixed node's smallest side of such a cut bear its label: giving it to them never
    makes a labelling dearer, and makes it cheaper if they lacked it. A labelling cuts every fixed
    node off, each of its edges off two at most, so it costs half the sum of the cuts or more.

    References
    ----------
    Dahlhaus, Johnson, Papadimitriou, Seymour and Yannakakis, "The complexity of multiterminal
    cuts", SIAM Journal on Computing 23, 1994.
    """
    labels: Labels = {}
    cuts = 0
    for label in sorted({node for pair in weights for node in pair if node >= 0}):
        merged: dict[tuple[Any, Any], int] = {}
        for (a, b), weight in weights.items():
            ends = tuple(_REST if n >= 0 and n != label else n for n in (a, b))
            if ends[0] != ends[1]:
                merged[ends[0], ends[1]] = merged.get((ends[0], ends[1]), 0) + weight
        side = smallest_side(merged, _REST, label)
        cuts += sum(w for (a, b), w in merged.items() if (a in side) != (b in side))
        labels |= {node: label for node in side if isinstance(node, int) and node < 0}
    return _Settled(labels=labels, least=-(-cuts // 2))


class _Search:
    """Depth first over the floating nodes; what each branch settles is settled at once."""

    def __init__(self, weights: Weights, preference: Callable[[Labels], Any]) -> None:
        self._weights, self._preference = weights, preference
        self._best: tuple[int, Any, Labels] | None = None
        self._ties = 0

    def best(self) -> Labels:
        self._extend({})
        if self._best is None:  # the first branch always ends in a labelling
            raise RuntimeError("the search ended without a labelling")
        return self._best[2]

    def _extend(self, labels: Labels) -> None:
        left, cost = self._left(labels)
        settled = _settled(left)
        if self._too_dear(cost + settled.least):
            return
        if settled.labels:
            self._extend(labels | settled.labels)
            return
        if not left:
            self._compare(labels, cost)
            return
        node, pulls = _most_pulled(left)
        beside = sorted(pulls, key=lambda label: (-pulls[label], label))
        # A label may also come to stand beside the node later, through others.
        others = sorted({n for pair in left for n in pair if n >= 0} - set(pulls))
        for label in (*beside, *others):
            self._extend(labels | {node: label})

    def _left(self, labels: Labels) -> tuple[dict[tuple[int, int], int], int]:
        """The edges with a floating end, labelled nodes merged, and the cost of the others."""
        left: dict[tuple[int, int], int] = {}
        cost = 0
        for (a, b), weight in self._weights.items():
            pair = (labels.get(a, a), labels.get(b, b))
            if min(pair) < 0:
                left[pair] = left.get(pair, 0) + weight
            elif pair[0] != pair[1]:
                cost += weight
        return left, cost

    def _too_dear(self, least: int) -> bool:
        if self._best is None:
            return False
        return least > self._best[0] or (least == self._best[0] and self._ties >= TIES_COMPARED)

    def _compare(self, labels: Labels, cost: int) -> None:
        if self._best is None or cost < self._best[0]:
            self._ties = 1
            self._best = (cost, self._preference(labels), labels)
        elif cost == self._best[0]:
            self._ties += 1
            preference = self._preference(labels)
            if preference < self._best[1]:
                self._best = (cost, preference, labels)


def _most_pulled(left: Weights) -> tuple[int, dict[int, int]]:
    """The floating node with the most weight to labels, and that weight label by label."""
    pulls: dict[int, dict[int, int]] = {}
    for (a, b), weight in left.items():
        node, label = min(a, b), max(a, b)
        if label >= 0:
            mine = pulls.setdefault(node, {})
            mine[label] = mine.get(label, 0) + weight
    node = max(pulls, key=lambda one: (sum(pulls[one].values()), one))
    return node, pulls[node]
