"""A skeleton as a graph: branches between ends and junctions, each a chain of pixels."""

from dataclasses import dataclass

import cv2
import networkx as nx
import numpy as np
import numpy.typing as npt

Mask = npt.NDArray[np.bool_]
NEIGHBOURS = [(-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Branch:
    """A chain of pixels (N, 2) as (x, y), from the centre of one node to that of the other."""

    points_xy: npt.NDArray[np.float64]

    @property
    def length_px(self) -> float:
        """Length along the chain."""
        return float(np.hypot(*np.diff(self.points_xy, axis=0).T).sum())


def skeleton_graph(skeleton: Mask) -> nx.MultiGraph:
    """Graph of a one-pixel-wide skeleton.

    Nodes are ends and junctions (touching junction pixels are one node) with ``xy``; edges carry
    ``branch``. Closed rings without a node are left out: a vein has ends.
    """
    around = cv2.boxFilter(
        skeleton.astype(np.uint8),
        cv2.CV_8U,
        (3, 3),
        normalize=False,
        borderType=cv2.BORDER_CONSTANT,
    )
    is_node = skeleton & (around != 3)
    _, node_of, _, centres_xy = cv2.connectedComponentsWithStats(is_node.astype(np.uint8))
    graph = nx.MultiGraph()
    for node, (x, y) in enumerate(centres_xy[1:], start=1):
        graph.add_node(node, xy=(float(x), float(y)))
    for chain, a, b in _chains(skeleton, is_node, node_of):
        points = np.array([graph.nodes[a]["xy"], *((c, r) for r, c in chain), graph.nodes[b]["xy"]])
        graph.add_edge(a, b, branch=Branch(points_xy=points.astype(np.float64)))
    return graph


def _chains(
    skeleton: Mask, is_node: Mask, node_of: npt.NDArray[np.int32]
) -> list[tuple[list[tuple[int, int]], int, int]]:
    """Every chain of degree-two pixels, with the node at each of its ends."""
    count, chain_of = cv2.connectedComponents((skeleton & ~is_node).astype(np.uint8))
    members: dict[int, list[tuple[int, int]]] = {}
    for r, c in zip(*np.nonzero(chain_of), strict=True):
        members.setdefault(int(chain_of[r, c]), []).append((int(r), int(c)))
    chains = []
    for number in range(1, count):
        ordered = _ordered(members[number])
        ends = [_touching(node_of, pixel) for pixel in (ordered[0], ordered[-1])]
        if len(ordered) == 1:
            both = sorted(set(_all_touching(node_of, ordered[0])))
            ends = [both[:1], both[-1:]]
        if ends[0] and ends[1]:
            chains.append((ordered, ends[0][0], ends[1][0]))
    return chains


def _ordered(pixels: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Pixels of one chain from end to end."""
    left = set(pixels)

    def neighbours(pixel: tuple[int, int]) -> list[tuple[int, int]]:
        r, c = pixel
        near = [(r + dr, c + dc) for dr, dc in NEIGHBOURS if (r + dr, c + dc) in left]
        return sorted(near, key=lambda q: abs(q[0] - r) + abs(q[1] - c))

    start = next((p for p in pixels if len(neighbours(p)) <= 1), pixels[0])
    ordered = [start]
    left.discard(start)
    while near := neighbours(ordered[-1]):
        ordered.append(near[0])
        left.discard(near[0])
    return ordered


def _all_touching(node_of: npt.NDArray[np.int32], pixel: tuple[int, int]) -> list[int]:
    r, c = pixel
    patch = node_of[max(r - 1, 0) : r + 2, max(c - 1, 0) : c + 2]
    return [int(v) for v in np.unique(patch) if v]


def _touching(node_of: npt.NDArray[np.int32], pixel: tuple[int, int]) -> list[int]:
    return _all_touching(node_of, pixel)[:1]


def prune(graph: nx.MultiGraph, shortest_px: "dict[int, float] | float") -> nx.MultiGraph:
    """The graph without free-ended branches shorter than allowed, chains joined again.

    The shortest spur goes first, so that a short fork at a true end loses one arm only.
    """
    pruned = graph.copy()
    while True:
        spurs = [
            (data["branch"].length_px, a, b, key)
            for a, b, key, data in pruned.edges(keys=True, data=True)
            if a != b and _is_spur(pruned, a, b, data["branch"].length_px, shortest_px)
        ]
        if not spurs:
            return pruned
        _, a, b, key = min(spurs, key=lambda spur: spur[0])
        pruned.remove_edge(a, b, key)
        for node in (a, b):
            if pruned.degree(node) == 0:
                pruned.remove_node(node)
        join_chains(pruned)


def _is_spur(
    graph: nx.MultiGraph, a: int, b: int, length_px: float, shortest_px: "dict[int, float] | float"
) -> bool:
    free = [node for node in (a, b) if graph.degree(node) == 1]
    if not free or (len(free) == 2 and graph.number_of_edges() == 1):
        return False
    held = b if free[0] == a else a
    limit = shortest_px if isinstance(shortest_px, float) else shortest_px.get(held, 0.0)
    return length_px < limit


def join_chains(graph: nx.MultiGraph) -> None:
    """Join the two branches that meet at a node of degree two, in place."""
    for node in [n for n in graph.nodes if graph.degree(n) == 2]:
        ends = list(graph.edges(node, keys=True, data=True))
        if len(ends) != 2 or any(a == b for a, b, _, _ in ends):
            continue
        (_, a, key_a, data_a), (_, b, key_b, data_b) = ends
        here = np.array(graph.nodes[node]["xy"])
        first = _towards(data_a["branch"].points_xy, here)
        second = _towards(data_b["branch"].points_xy, here)[::-1]
        joined = Branch(points_xy=np.concatenate([first, second[1:]]))
        graph.remove_edge(node, a, key_a)
        graph.remove_edge(node, b, key_b)
        graph.remove_node(node)
        graph.add_edge(a, b, branch=joined)


def _towards(
    points: npt.NDArray[np.float64], here: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """The chain in the order that ends at ``here``."""
    first, last = np.hypot(*(points[0] - here)), np.hypot(*(points[-1] - here))
    return points if last <= first else points[::-1]
