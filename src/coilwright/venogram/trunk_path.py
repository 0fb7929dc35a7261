"""The trunk in a skeleton graph: the path along which calibre adds up to the most."""

from itertools import pairwise

import networkx as nx
import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Float = npt.NDArray[np.float32]
Edge = tuple[int, int, int]

# What a chain that runs straight across counts, of one that runs straight down.
ACROSS_COUNTS = 0.3
STRONG_PART = 0.5
# A trunk that turns by more than this where vessels meet has gone over to another vessel.
DOUBLES_BACK_DEG = 110.0
# Of two channels that leave each other and meet again, the trunk is the one that goes on straight,
# by so much more the weaker it is: it may be narrow there.
LEAST_STRONG, AS_STRONG = 0.3, 0.8
CLEARLY_STRAIGHTER_DEG, WEAKER_COSTS_DEG = 15.0, 90.0
HEADING_PX, SKIP_PX = 30, 12
MOST_SWAPS = 3
# The trunk ends where all that goes on is this much weaker and turns away: a side vein.
SIDE_PART, TURNS_OFF_DEG = 0.75, 20.0
# ... this near the border, as a part of the picture's height: motion takes some of its margin.
BORDER_PART = 0.08


def trunk_path(graph: nx.MultiGraph, strength: Float) -> tuple[list[Edge], Array]:
    """The trunk's edges and its pixels (N, 2) as (x, y), from its cranial end.

    ``strength`` (rows, columns) stands for calibre; the weakest branch of every ring is taken out
    first.
    """
    weighted = _weighted(graph, strength)
    path = _heaviest_path(nx.maximum_spanning_tree(weighted, weight="calibre"), strength)
    if not path:
        path = [max(weighted.edges(keys=True), key=lambda e: weighted.edges[e]["mass"])]
    for _ in range(MOST_SWAPS):
        straighter = _straighter(weighted, path)
        if straighter is None:
            break
        path = straighter
    path = _without_turned_off_ends(weighted, path, strength.shape)
    points = _points_along(weighted, path)
    return path, points if points[0, 1] <= points[-1, 1] else points[::-1]


def _weighted(graph: nx.MultiGraph, strength: Float) -> nx.MultiGraph:
    weighted = graph.copy()
    for _, _, data in weighted.edges(data=True):
        points = data["branch"].points_xy
        columns, rows = np.rint(points).astype(int).T
        values = strength[rows, columns].astype(np.float64)
        data["calibre"] = float(np.median(values)) * _straightness(points)
        data["mass"] = _mass(points, values)
        data["length"] = float(data["branch"].length_px)
        data["strength"] = float(np.median(values))
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


def _heaviest_path(tree: nx.MultiGraph, strength: Float) -> list[Edge]:
    """The path in a forest with the greatest sum of mass that nowhere doubles back on itself."""
    open_tree = tree.copy()
    while True:
        path = _heaviest(open_tree)
        back = _doubling_back(open_tree, path, strength)
        if back is None:
            return path
        open_tree.remove_edge(*back)


def _heaviest(tree: nx.MultiGraph) -> list[Edge]:
    best: tuple[float, list[Edge]] = (-1.0, [])
    for nodes in nx.connected_components(tree):
        far, _ = _farthest(tree, next(iter(nodes)))
        _, found = _farthest(tree, far)
        best = max(best, found, key=lambda found: found[0])
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


def _doubling_back(tree: nx.MultiGraph, path: list[Edge], strength: Float) -> Edge | None:
    """The edge by which a path goes over to another vessel and back along it, if it does.

    The catheter's thin lumen may come up to the vein and turn down into it: not so what is strong
    on both sides of the turn.
    """
    if len(path) < 2:
        return None
    points = _points_along(tree, path)
    reach = HEADING_PX
    if len(points) < 2 * reach + 2:
        return None
    before = points[reach:-reach] - points[: -2 * reach]
    after = points[2 * reach :] - points[reach:-reach]
    cosine = (before * after).sum(1) / np.maximum(np.hypot(*before.T) * np.hypot(*after.T), 1e-9)
    columns, rows = np.rint(points).astype(int).T
    values = strength[rows, columns]
    strong = values > STRONG_PART * float(np.median(values))
    turns = (
        (cosine < np.cos(np.radians(DOUBLES_BACK_DEG))) & strong[: -2 * reach] & strong[2 * reach :]
    )
    if not turns.any():
        return None
    at = int(np.argmin(np.where(turns, cosine, 1.0))) + reach
    ends = np.cumsum([max(round(len(tree.edges[e]["branch"].points_xy)), 1) - 1 for e in path])
    index = int(np.clip(np.argmin(np.abs(ends - at)), 0, len(path) - 2))
    masses = [tree.edges[edge]["mass"] for edge in path]
    return path[index + 1] if sum(masses[: index + 1]) > sum(masses[index + 1 :]) else path[index]


def _points_along(graph: nx.MultiGraph, edges: list[Edge]) -> Array:
    """Pixels along a path of edges, each chain turned the way the path runs."""
    pieces = []
    for a, b, key in edges:
        points = graph.get_edge_data(a, b, key)["branch"].points_xy
        here = np.array(graph.nodes[a]["xy"])
        forward = np.hypot(*(points[0] - here)) <= np.hypot(*(points[-1] - here))
        pieces.append(points if forward else points[::-1])
    return np.concatenate([pieces[0], *(piece[1:] for piece in pieces[1:])])


def _without_turned_off_ends(
    graph: nx.MultiGraph, path: list[Edge], shape: tuple[int, ...]
) -> list[Edge]:
    """The path without a side vein at either end, where the border cuts the trunk off."""
    margin = BORDER_PART * shape[0]
    for end in (0, -1):
        while len(path) > 1:
            rest = path[1:] if end == 0 else path[:-1]
            here, own = _points_along(graph, [path[end]]), _points_along(graph, rest)
            turn = _turn_deg(here[::-1], own) if end == 0 else _turn_deg(own[::-1], here)
            weaker = _calibre(graph, [path[end]]) < SIDE_PART * _calibre(graph, rest)
            x, y = graph.nodes[path[end][0 if end else 1]]["xy"]
            inside = min(x, y, shape[1] - 1 - x, shape[0] - 1 - y)
            if not (weaker and turn > TURNS_OFF_DEG and inside < margin):
                break
            path = rest
    return path


def _straighter(graph: nx.MultiGraph, path: list[Edge]) -> list[Edge] | None:
    """The path with one stretch led along another channel that bends less where the two part."""
    on_path = [path[0][0], *(edge[1] for edge in path)]
    beside = nx.MultiGraph(graph)
    beside.remove_edges_from(path)
    for i, start in enumerate(on_path):
        for j in range(i + 1, len(on_path)):
            end = on_path[j]
            between = _way_beside(beside, start, end, set(on_path))
            if between is None:
                continue
            other = [*path[:i], *between, *path[j:]]
            stretch = path[i:j]
            part = _calibre(graph, between) / max(_calibre(graph, stretch), 1e-9)
            if part < LEAST_STRONG:
                continue
            before, after = path[:i], path[j:]
            bent = _bends_deg(graph, before, stretch, after)
            needed = CLEARLY_STRAIGHTER_DEG + WEAKER_COSTS_DEG * max(AS_STRONG - part, 0.0)
            if bent - _bends_deg(graph, before, between, after) > needed:
                return other
    return None


def _way_beside(
    beside: nx.MultiGraph, start: int, end: int, on_path: set[int]
) -> list[Edge] | None:
    """The shortest way between two places on the trunk that touches it nowhere else."""
    if not (beside.degree(start) and beside.degree(end)):
        return None
    open_nodes = [node for node in beside.nodes if node not in on_path or node in (start, end)]
    free = beside.subgraph(open_nodes)
    try:
        nodes = nx.shortest_path(free, start, end, weight="length")
    except nx.NetworkXNoPath:
        return None
    return [
        (a, b, min(free[a][b], key=lambda key: free[a][b][key]["length"]))
        for a, b in pairwise(nodes)
    ]


def _calibre(graph: nx.MultiGraph, edges: list[Edge]) -> float:
    """The strength of a way, by length."""
    lengths = np.array([graph.edges[edge]["length"] for edge in edges])
    strengths = np.array([graph.edges[edge]["strength"] for edge in edges])
    return float((lengths * strengths).sum() / max(lengths.sum(), 1e-9))


def _bends_deg(
    graph: nx.MultiGraph, before: list[Edge], stretch: list[Edge], after: list[Edge]
) -> float:
    """How much a way turns where it leaves one stretch for the next, both turns together."""
    middle = _points_along(graph, stretch)
    bends = 0.0
    if before:
        bends += _turn_deg(_points_along(graph, before)[::-1], middle)
    if after:
        bends += _turn_deg(middle[::-1], _points_along(graph, after))
    return bends


def _turn_deg(back: Array, onward: Array) -> float:
    """The angle between coming along one line, given backwards, and going on along another."""
    headings = []
    for points in (back, onward):
        first, last = min(SKIP_PX, len(points) - 2), min(SKIP_PX + HEADING_PX, len(points) - 1)
        way = points[last] - points[max(first, 0)]
        headings.append(way / max(float(np.hypot(*way)), 1e-9))
    return float(np.degrees(np.arccos(np.clip(-headings[0] @ headings[1], -1.0, 1.0))))
