"""The tree in a skeleton graph: trunk, duplicates that rejoin it, and side veins."""

from dataclasses import dataclass, field
from itertools import pairwise

import networkx as nx
import numpy as np
import numpy.typing as npt

from coilwright.veins import OwnEnd, VesselKind

Array = npt.NDArray[np.float64]

# What a chain that runs straight across counts, of one that runs straight down.
ACROSS_COUNTS = 0.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """One end of a strand sits on strand ``parent`` at the point ``at_xy``."""

    own_end: OwnEnd
    parent: int
    at_xy: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """A vessel before it is measured: its kind, its pixels (N, 2) as (x, y), its attachments."""

    kind: VesselKind
    points_xy: Array
    attachments: tuple[Attachment, ...] = field(default_factory=tuple)

    @property
    def length_px(self) -> float:
        """Length along the pixels."""
        return float(np.hypot(*np.diff(self.points_xy, axis=0).T).sum())


def read_tree(
    graph: nx.MultiGraph, strength: npt.NDArray[np.float32], shortest_duplicate_px: float
) -> list[Strand]:
    """Strands of the tree that holds the trunk, the trunk first; empty where there is none.

    ``strength`` (rows, columns) stands for calibre: the trunk is the path along which it adds up
    to the most, after the weakest branch of every ring has been taken out. What is not connected
    to the trunk is not a vein of this tree.
    """
    if not graph.number_of_edges():
        return []
    weighted = _weighted(graph, strength)
    path = _heaviest_path(_without_rings(weighted))
    nodes = set(nx.node_connected_component(weighted, path[0][0]))
    rest = nx.MultiGraph(weighted.subgraph(nodes))
    trunk = _strand_of(rest, path)
    if trunk[0, 1] > trunk[-1, 1]:
        trunk = trunk[::-1]
    strands = [Strand(kind=VesselKind.TRUNK, points_xy=trunk)]
    owner = {node: 0 for edge in path for node in edge[:2]}
    rest.remove_edges_from(path)
    while rest.number_of_edges():
        found = _next_branch(rest, owner)
        if found is None:
            break
        points = _strand_of(rest, found.edges)
        strand = _strand(rest, found, points, owner, shortest_duplicate_px)
        if strand is not None:
            for edge in found.edges:
                for node in edge[:2]:
                    owner.setdefault(node, len(strands))
            strands.append(strand)
        rest.remove_edges_from(found.edges)
    return strands


Edge = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A path of edges that starts on a known vessel; ``rejoins`` where it ends on one too."""

    edges: list[Edge]
    start: int
    end: int
    rejoins: bool


def _weighted(graph: nx.MultiGraph, strength: npt.NDArray[np.float32]) -> nx.MultiGraph:
    weighted = graph.copy()
    for _, _, data in weighted.edges(data=True):
        points = data["branch"].points_xy
        columns, rows = np.rint(points).astype(int).T
        values = strength[rows, columns].astype(np.float64)
        data["calibre"] = float(np.median(values)) * _straightness(points)
        data["mass"] = _mass(points, values)
    return weighted


def _straightness(points_xy: Array) -> float:
    """Near one for a straight chain: of two sides of a ring the trunk is the straighter."""
    length = float(np.hypot(*np.diff(points_xy, axis=0).T).sum())
    chord = float(np.hypot(*(points_xy[-1] - points_xy[0])))
    return 0.3 + 0.7 * min(chord / max(length, 1e-9), 1.0)


def _mass(points_xy: Array, strength: Array) -> float:
    """How much of a trunk a chain is: long, strong, and running down the body.

    The square of the strength stands for the cross-section; a gonadal vein runs craniocaudally,
    what leaves it runs across.
    """
    steps = np.diff(points_xy, axis=0)
    length = np.hypot(steps[:, 0], steps[:, 1])
    down = abs(float(points_xy[-1, 1] - points_xy[0, 1])) / max(float(length.sum()), 1e-9)
    along = ACROSS_COUNTS + (1.0 - ACROSS_COUNTS) * min(down, 1.0)
    return float((strength**2).mean() * max(float(length.sum()), 1.0) * along)


def _without_rings(graph: nx.MultiGraph) -> nx.MultiGraph:
    """A spanning tree that keeps the stronger side of every ring."""
    return nx.maximum_spanning_tree(graph, weight="calibre")


def _heaviest_path(tree: nx.MultiGraph) -> list[Edge]:
    """The path between two nodes of a forest with the greatest sum of mass."""
    best: tuple[float, list[Edge]] = (-1.0, [])
    for nodes in nx.connected_components(tree):
        start = next(iter(nodes))
        far, _ = _farthest(tree, start)
        _, found = _farthest(tree, far)
        if found[0] > best[0]:
            best = found
    return best[1]


def _farthest(tree: nx.MultiGraph, start: int) -> tuple[int, tuple[float, list[Edge]]]:
    reached: dict[int, tuple[float, list[Edge]]] = {start: (0.0, [])}
    queue = [start]
    while queue:
        node = queue.pop()
        mass, edges = reached[node]
        for _, other, key, data in tree.edges(node, keys=True, data=True):
            if other not in reached:
                reached[other] = (mass + data["mass"], [*edges, (node, other, key)])
                queue.append(other)
    far = max(reached, key=lambda node: reached[node][0])
    return far, reached[far]


def _strand_of(graph: nx.MultiGraph, edges: list[Edge]) -> Array:
    """Pixels along a path of edges, each chain turned the way the path runs."""
    pieces = []
    for a, b, key in edges:
        points = graph.get_edge_data(a, b, key)["branch"].points_xy
        here = np.array(graph.nodes[a]["xy"])
        forward = np.hypot(*(points[0] - here)) <= np.hypot(*(points[-1] - here))
        pieces.append(points if forward else points[::-1])
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])


def _next_branch(graph: nx.MultiGraph, owner: dict[int, int]) -> _Found | None:
    """A path that rejoins a known vessel if there is one, else the heaviest that does not."""
    opened = _opened(graph, owner)
    starts = [node for node in opened.nodes if isinstance(node, tuple)]
    best: tuple[tuple[bool, float], _Found] | None = None
    for start in starts:
        paths = nx.single_source_dijkstra_path(opened, start, weight="resistance")
        for end, nodes in paths.items():
            rejoins = isinstance(end, tuple)
            if end == start or (not rejoins and opened.degree(end) != 1):
                continue
            edges = _edges_along(opened, nodes)
            mass = sum(opened.get_edge_data(a, b)["mass"] for a, b in pairwise(nodes))
            score = (rejoins, mass)
            if best is None or score > best[0]:
                last = end[0] if isinstance(end, tuple) else end
                best = score, _Found(edges=edges, start=start[0], end=last, rejoins=rejoins)
    return None if best is None else best[1]


def _opened(graph: nx.MultiGraph, owner: dict[int, int]) -> nx.Graph:
    """The graph with every owned node split into one copy per branch, so that none is crossed."""
    opened = nx.Graph()
    for number, (a, b, key, data) in enumerate(graph.edges(keys=True, data=True)):
        ends = [(node, number, side) if node in owner else node for side, node in enumerate((a, b))]
        resistance = data["branch"].length_px / max(data["calibre"], 1e-9)
        known = opened.get_edge_data(*ends)
        if known is None or known["resistance"] > resistance:
            opened.add_edge(
                *ends, resistance=resistance, mass=data["mass"], edge=(a, b, key), first=ends[0]
            )
    return opened


def _edges_along(opened: nx.Graph, nodes: list[object]) -> list[Edge]:
    edges = []
    for here, there in pairwise(nodes):
        data = opened.get_edge_data(here, there)
        a, b, key = data["edge"]
        edges.append((a, b, key) if data["first"] == here else (b, a, key))
    return edges


def _strand(
    graph: nx.MultiGraph,
    found: _Found,
    points: Array,
    owner: dict[int, int],
    shortest_duplicate_px: float,
) -> Strand | None:
    def attached(end: OwnEnd, node: int) -> Attachment:
        return Attachment(own_end=end, parent=owner[node], at_xy=graph.nodes[node]["xy"])

    start = attached(OwnEnd.START, found.start)
    if not found.rejoins:
        return Strand(kind=VesselKind.SIDE_VEIN, points_xy=points, attachments=(start,))
    length = float(np.hypot(*np.diff(points, axis=0).T).sum())
    if length < shortest_duplicate_px:
        return None
    end = attached(OwnEnd.END, found.end)
    return Strand(kind=VesselKind.DUPLICATE, points_xy=points, attachments=(start, end))
