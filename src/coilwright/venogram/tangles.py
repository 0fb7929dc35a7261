"""Tangles: many short loops of thin veins close together, summarised as one region."""

from itertools import groupby

import cv2
import networkx as nx
import numpy as np
import numpy.typing as npt

from coilwright.venogram.continuity import Chain, Piece, PieceEnd, chain_of
from coilwright.venogram.meeting import Wall

Array = npt.NDArray[np.float64]

# Loops off the trunk are a tangle when their strands are this much longer together than the place
# is wide; one alone, when it is round: the area within, of the square of its box's diagonal, is
# 0.39 for a circle and 0.25 for a triangle of equal sides, such as three veins that cross make.
LEAST_WOUND, LEAST_ROUND = 1.9, 0.31
FEWEST_LOOPS = 2
# A piece as straight as this may lead past a tangle or to it.
STRAIGHT = 0.9
# How much of it must belong to no vein that only passes through.
LEAST_OWN_PART = 0.5
# A vein that only passes through goes straight inside, and on for this part of its way in there.
STRAIGHT_INSIDE, OUTSIDE_PART = 0.93, 0.5
# Strands that hang on a tangle and are no longer than this part of its width belong to it.
HANGING_PART = 0.5
# The vein that leads to a tangle is part of it up to this many widths.
STEM_PART = 1.5
# Mouths on the trunk no farther apart than so many of its radii count as one: a loop between them
# is no duplicate.
MOUTH_RADII, MOUTH_PX = 3.0, 10.0


def find_tangles(
    pieces: list[Piece], chains: list[Chain], trunk_nodes: set[int], wall: Wall
) -> tuple[list[list[Chain]], list[Chain]]:
    """The chains of every tangle, that which leads to it first, and all other chains."""
    tangles = []
    mouths = _mouths(pieces, trunk_nodes, wall)
    for block in _wound(pieces, mouths):
        width = _width(pieces, block)
        own, rest = _shared_out(pieces, chains, block, width)
        wound_px = sum(chain.length_px for chain in own)
        if wound_px < LEAST_OWN_PART * sum(pieces[n].length_px for n in block):
            continue
        hanging = _hanging(own, rest, width, trunk_nodes)
        tangles.append(_stem_first([*own, *hanging], trunk_nodes))
        chains = [chain for chain in rest if all(chain is not other for other in hanging)]
    return tangles, chains


def _wound(pieces: list[Piece], mouths: dict[PieceEnd, int]) -> list[set[int]]:
    """Groups of pieces that wind about one place.

    Where loops are wider than they are wound, the longest straight piece passes by or leads there:
    without it, what is left may be a tangle.
    """
    found = []
    left = _looped(pieces, set(range(len(pieces))), mouths)
    while left:
        block = left.pop()
        ends = [(n, side) for n in block for side in (0, 1)]
        places = {
            ("mouth", mouths[end]) if end in mouths else ("place", pieces[end[0]].nodes[end[1]])
            for end in ends
        }
        if _is_wound(pieces, block, loops=len(block) - len(places) + 1):
            found.append(block)
            continue
        longest = max(
            (n for n in block if _is_straight(pieces[n])),
            key=lambda n: pieces[n].length_px,
            default=None,
        )
        if longest is not None:
            left += _looped(pieces, block - {longest}, mouths)
    return found


def _is_wound(pieces: list[Piece], block: set[int], *, loops: int) -> bool:
    """Whether loops lie over one another, or a single one is round."""
    width = _width(pieces, block)
    if loops >= FEWEST_LOOPS:
        return sum(pieces[n].length_px for n in block) >= LEAST_WOUND * width
    points = np.concatenate([pieces[n].points_xy for n in block]).astype(np.float32)
    return loops == 1 and cv2.contourArea(cv2.convexHull(points)) >= LEAST_ROUND * width**2


def _width(pieces: list[Piece], block: set[int]) -> float:
    points = np.concatenate([pieces[n].points_xy for n in block])
    return max(float(np.hypot(*np.ptp(points, axis=0))), 1e-9)


def _is_straight(piece: Piece) -> bool:
    chord = float(np.hypot(*(piece.points_xy[-1] - piece.points_xy[0])))
    return chord > STRAIGHT * piece.length_px


def _mouths(pieces: list[Piece], trunk_nodes: set[int], wall: Wall) -> dict[PieceEnd, int]:
    """Where pieces open into the trunk: one number for mouths beside one another."""
    ends = [
        (number, side)
        for number, piece in enumerate(pieces)
        for side in (0, 1)
        if piece.nodes[side] in trunk_nodes
    ]
    if not ends:
        return {}
    places = np.array([pieces[number].points_xy[-side] for number, side in ends])
    _, along = wall.distance_to(places)
    beside_px = MOUTH_RADII * float(np.median(wall.radius_px)) + MOUTH_PX
    order = np.argsort(along)
    steps = np.concatenate([[0], np.diff(along[order]) > beside_px]).cumsum()
    return {ends[int(n)]: int(step) for n, step in zip(order, steps, strict=True)}


def _looped(pieces: list[Piece], numbers: set[int], mouths: dict[PieceEnd, int]) -> list[set[int]]:
    """Groups of some pieces that lie on loops which do not lead along the trunk."""
    graph: nx.Graph = nx.Graph()
    for number in sorted(numbers):
        piece = pieces[number]
        a, b = (
            ("mouth", mouths[number, side], 0) if (number, side) in mouths else ("place", node, 0)
            for side, node in enumerate(piece.nodes)
        )
        # Two points on every piece: two pieces between the same places stay two.
        nx.add_path(graph, [a, ("piece", number, 0), ("piece", number, 1), b])
    graph.remove_edges_from(list(nx.bridges(graph)))
    groups = nx.connected_components(graph)
    blocks = [{n for kind, n, _ in group if kind == "piece"} for group in groups if len(group) > 2]
    return sorted((block for block in blocks if block), key=len, reverse=True)


def _shared_out(
    pieces: list[Piece], chains: list[Chain], block: set[int], width: float
) -> tuple[list[Chain], list[Chain]]:
    """Chains that wind within a group, cut where they leave it; and all others."""
    own: list[Chain] = []
    rest: list[Chain] = []
    for chain in chains:
        if not block & set(chain.pieces) or _passes_through(pieces, chain, block, width):
            rest.append(chain)
            continue
        for inside, run in groupby(chain.run, key=lambda end: end[0] in block):
            (own if inside else rest).append(chain_of(pieces, list(run)))
    return own, rest


def _passes_through(pieces: list[Piece], chain: Chain, block: set[int], width: float) -> bool:
    within = [end for end in chain.run if end[0] in block]
    inside = chain_of(pieces, within)
    outside_px = chain.length_px - inside.length_px
    chord = float(np.hypot(*(inside.points_xy[-1] - inside.points_xy[0])))
    straight = chord > STRAIGHT_INSIDE * inside.length_px
    return straight and outside_px > OUTSIDE_PART * max(inside.length_px, 0.5 * width)


def _hanging(
    own: list[Chain], rest: list[Chain], width: float, trunk_nodes: set[int]
) -> list[Chain]:
    """Short chains that hang on a tangle, and the one that leads to it from the trunk."""
    places = {place for chain in own for place in (*chain.passes, *chain.ends)} - trunk_nodes
    held = [chain for chain in rest if set(chain.ends) & places]
    stems = [
        chain
        for chain in held
        if set(chain.ends) & trunk_nodes and chain.length_px < STEM_PART * width
    ]
    stem = min(stems, key=lambda chain: chain.length_px, default=None)
    short = [
        chain
        for chain in held
        if not set(chain.ends) & trunk_nodes and chain.length_px < HANGING_PART * width
    ]
    return short if stem is None else [stem, *short]


def _stem_first(own: list[Chain], trunk_nodes: set[int]) -> list[Chain]:
    return sorted(own, key=lambda c: (not set(c.ends) & trunk_nodes, -c.length_px))


def wound_course(own: list[Chain], trunk_nodes: set[int]) -> Array:
    """One line through all strands of a tangle: each from where the one before stopped."""
    start = own[0].points_xy
    backwards = own[0].ends[1] in trunk_nodes and own[0].ends[0] not in trunk_nodes
    runs = [start[::-1] if backwards else start]
    left = [chain.points_xy for chain in own[1:]]
    while left:
        here = runs[-1][-1]
        ends = [(n, end) for n in range(len(left)) for end in (0, -1)]
        number, end = min(ends, key=lambda at: float(np.hypot(*(left[at[0]][at[1]] - here))))
        points = left.pop(number)
        runs.append(points if end == 0 else points[::-1])
    return np.concatenate(runs)
