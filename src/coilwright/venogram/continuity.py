"""Which branches of a skeleton run on into one another: a vein keeps its heading at a crossing.

Where two veins cross, the skeleton shows one junction of four branches, or two junctions of three
close together; at each the branches that go on straightest belong to the same vein.
"""

import itertools
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import networkx as nx
import numpy as np
import numpy.typing as npt

from coilwright.venogram.meeting import Wall

Array = npt.NDArray[np.float64]
Float = npt.NDArray[np.float32]

# Junctions joined by a branch shorter than this many radii are one place where veins meet.
LINK_RADII, LINK_PX = 2.6, 5.0
# A heading is taken over this length, from beyond the blob where the veins meet.
HEADING_PX, SKIP_RADII, SKIP_PX = 18.0, 1.2, 2.0
# A vein turns by no more than this at a junction; at a corner of one branch, by more.
MOST_TURN_DEG = 45.0
MOST_CORNER_DEG = 55.0
# What it counts, as a turn, that one branch is e times as strong as the other.
UNLIKE_COSTS_DEG = 25.0
# ... and by how much more two that are just alike may turn.
ALIKE_ALLOWS_DEG = 15.0
CORNER_PX, CORNER_RADII = 8.0, 2.0

# A piece (by number) at its first (0) or last (1) point.
PieceEnd = tuple[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A branch between two junctions: pixels (N, 2) as (x, y) from ``nodes[0]`` to ``nodes[1]``."""

    points_xy: Array
    nodes: tuple[int, int]

    @property
    def length_px(self) -> float:
        """Length along the pixels."""
        return length_of(self.points_xy)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """Pieces that run on into one another.

    ``run`` holds each piece with the end that it is entered by. ``ends`` are the places where it
    begins and stops; ``passes`` those that it runs through.
    """

    run: tuple[PieceEnd, ...]
    points_xy: Array
    ends: tuple[int, int]
    passes: frozenset[int] = frozenset()

    @property
    def pieces(self) -> tuple[int, ...]:
        """The numbers of its pieces in order."""
        return tuple(number for number, _ in self.run)

    @property
    def length_px(self) -> float:
        """Length along the pixels."""
        return length_of(self.points_xy)


def length_of(points_xy: Array) -> float:
    """Length of a line through points, in pixels."""
    return float(np.hypot(*np.diff(points_xy, axis=0).T).sum())


def pieces_of(graph: nx.MultiGraph) -> list[Piece]:
    """The branches of a skeleton's graph, each with its points from its first node to its last."""
    pieces = []
    for a, b, data in graph.edges(data=True):
        points = data["branch"].points_xy
        first = np.hypot(*(points[0] - np.array(graph.nodes[a]["xy"])))
        last = np.hypot(*(points[-1] - np.array(graph.nodes[a]["xy"])))
        pieces.append(Piece(points_xy=points if first <= last else points[::-1], nodes=(a, b)))
    return pieces


def cut_at_corners(
    pieces: list[Piece], trunk_nodes: set[int], wall: Wall, radius_px: Float
) -> list[Piece]:
    """The pieces cut where they turn sharply: there one thing ends and another begins.

    Not near the trunk, where the ridge of a narrower vein bends into the corner between the two,
    and not where both ends open into the trunk: that is one channel, however it turns.
    """
    fresh = itertools.count(-1, -1)
    cut = []
    for piece in pieces:
        nodes, points = piece.nodes, piece.points_xy
        whole = set(nodes) <= trunk_nodes
        corners = [] if whole else _corners(points, wall, radius_at(radius_px, points))
        bounds = [0, *corners, len(points) - 1]
        between = [nodes[0], *(next(fresh) for _ in corners), nodes[1]]
        for part in range(len(bounds) - 1):
            cut.append(
                Piece(
                    points_xy=points[bounds[part] : bounds[part + 1] + 1],
                    nodes=(between[part], between[part + 1]),
                )
            )
    return cut


def is_corner(place: int) -> bool:
    """Whether a place is one where a branch was cut at a corner."""
    return place < 0


def _corners(points_xy: Array, wall: Wall, own_radius_px: float) -> list[int]:
    """Where a line turns by more than a corner within a vein's width."""
    reach = round(max(CORNER_PX, CORNER_RADII * own_radius_px))
    if len(points_xy) < 2 * reach + 2:
        return []
    before = points_xy[reach:-reach] - points_xy[: -2 * reach]
    after = points_xy[2 * reach :] - points_xy[reach:-reach]
    lengths = np.hypot(*before.T) * np.hypot(*after.T)
    cosine = (before * after).sum(1) / np.maximum(lengths, 1e-9)
    sharp = np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0)))
    sharp[~wall.clear_of(points_xy[reach:-reach], own_radius_px)] = 0.0
    corners = []
    while sharp.max() > MOST_CORNER_DEG:
        at = int(sharp.argmax())
        corners.append(at + reach)
        sharp[max(at - 2 * reach, 0) : at + 2 * reach + 1] = 0.0
    return sorted(corners)


def meeting_places(pieces: list[Piece], trunk_nodes: set[int], radius_px: Float) -> list[Piece]:
    """The pieces with junctions that lie within a vein's width of one another taken as one."""
    degree: dict[int, int] = defaultdict(int)
    for piece in pieces:
        for node in piece.nodes:
            degree[node] += 1
    same: nx.Graph = nx.Graph()
    links = set()
    for number, piece in enumerate(pieces):
        a, b = piece.nodes
        if trunk_nodes & {a, b} or min(degree[a], degree[b]) < 3:
            continue
        if piece.length_px < LINK_RADII * radius_at(radius_px, piece.points_xy) + LINK_PX:
            same.add_edge(a, b)
            links.add(number)
    place = {node: min(group) for group in nx.connected_components(same) for node in group}
    return [
        Piece(points_xy=piece.points_xy, nodes=(place.get(a, a), place.get(b, b)))
        for number, piece in enumerate(pieces)
        for a, b in [piece.nodes]
        if number not in links
    ]


def radius_at(radius_px: Float, points_xy: Array) -> float:
    """The middle one of the radii at some pixels."""
    columns, rows = np.rint(points_xy).astype(int).T
    return float(np.median(radius_px[rows, columns]))


def chains_of(
    pieces: list[Piece], trunk_nodes: set[int], radius_px: Float, strength: Float
) -> list[Chain]:
    """Chains of pieces, paired at every place off the trunk by how straight they go on.

    ``strength`` (rows, columns) stands for calibre and opacity: a vein keeps those too.
    """
    strengths = [max(radius_at(strength, piece.points_xy), 1e-9) for piece in pieces]
    ends: dict[int, list[PieceEnd]] = defaultdict(list)
    for number, piece in enumerate(pieces):
        for side, node in enumerate(piece.nodes):
            if node not in trunk_nodes:
                ends[node].append((number, side))
    follows: dict[PieceEnd, PieceEnd] = {}
    for met in ends.values():
        if len(met) >= 2:
            follows |= _pairs(pieces, met, radius_px, strengths)
    return _followed(pieces, follows)


def _pairs(
    pieces: list[Piece], met: list[PieceEnd], radius_px: Float, strengths: list[float]
) -> dict[PieceEnd, PieceEnd]:
    """The ends at one place that go on into one another, the likeliest pair first."""
    headings = [outward(pieces[n].points_xy, side, radius_px) for n, side in met]
    most = MOST_CORNER_DEG if len(met) == 2 else MOST_TURN_DEG
    found = []
    for i in range(len(met)):
        for j in range(i + 1, len(met)):
            turn = turn_deg(headings[i], -headings[j])
            unlike = abs(np.log(strengths[met[i][0]] / strengths[met[j][0]]))
            if turn <= most + ALIKE_ALLOWS_DEG * max(1.0 - 2.0 * unlike, 0.0):
                found.append((turn + UNLIKE_COSTS_DEG * float(unlike), i, j))
    pairs: dict[PieceEnd, PieceEnd] = {}
    for _, i, j in sorted(found):
        if met[i] not in pairs and met[j] not in pairs:
            pairs[met[i]], pairs[met[j]] = met[j], met[i]
    return pairs


def outward(points_xy: Array, side: int, radius_px: Float) -> Array:
    """The heading with which a line leaves its first (0) or last (1) point, a unit vector."""
    points = points_xy if side == 0 else points_xy[::-1]
    away = np.hypot(*(points - points[0]).T)
    skip = SKIP_RADII * radius_at(radius_px, points) + SKIP_PX
    beyond = np.flatnonzero(away >= skip)
    first = int(beyond[0]) if beyond.size else 0
    last = min(first + round(HEADING_PX), len(points) - 1)
    if last - first < 3:
        first = 0
    heading = points[last] - points[first]
    return np.asarray(heading / max(float(np.hypot(*heading)), 1e-9))


def turn_deg(one: Array, other: Array) -> float:
    """The angle between two headings."""
    return float(np.degrees(np.arccos(np.clip(one @ other, -1.0, 1.0))))


def _followed(pieces: list[Piece], follows: dict[PieceEnd, PieceEnd]) -> list[Chain]:
    """Every piece in one chain: from an end that follows nothing, else round a closed one."""
    left = set(range(len(pieces)))
    loose = [(n, side) for n in sorted(left) for side in (0, 1) if (n, side) not in follows]
    chains = []
    for start in [*loose, *((n, 0) for n in range(len(pieces)))]:
        if start[0] not in left:
            continue
        run = [start]
        left.discard(start[0])
        while (after := follows.get((run[-1][0], 1 - run[-1][1]))) is not None:
            if after[0] not in left:
                break
            run.append(after)
            left.discard(after[0])
        chains.append(chain_of(pieces, run))
    return chains


def chain_of(pieces: list[Piece], run: Sequence[PieceEnd]) -> Chain:
    """One chain of pieces that were found to follow one another."""
    turned = [pieces[n].points_xy if side == 0 else pieces[n].points_xy[::-1] for n, side in run]
    nodes = [pieces[n].nodes if side == 0 else pieces[n].nodes[::-1] for n, side in run]
    return Chain(
        run=tuple(run),
        points_xy=np.concatenate(turned),
        ends=(nodes[0][0], nodes[-1][1]),
        passes=frozenset(after[0] for after in nodes[1:]),
    )
