"""The tree in a skeleton graph: trunk, duplicates that rejoin it, side veins, tangles, crossings.

Branches are followed through junctions by their heading, so a vein that crosses another stays one
vein and joins nothing there.
"""

from collections import Counter
from dataclasses import dataclass, field, replace

import networkx as nx
import numpy as np
import numpy.typing as npt

from coilwright.veins import OwnEnd, VesselKind
from coilwright.venogram.continuity import (
    Chain,
    chains_of,
    cut_at_corners,
    is_corner,
    length_of,
    meeting_places,
    pieces_of,
    radius_at,
    turn_deg,
)
from coilwright.venogram.meeting import Wall, carried_on, mouth
from coilwright.venogram.tangles import find_tangles, wound_course
from coilwright.venogram.trunk_path import trunk_path

Array = npt.NDArray[np.float64]
Float = npt.NDArray[np.float32]

# About the radius of a narrow side vein.
SLENDER_PX = 3.0
# A loose end this near the trunk that points into it opens there: its ridge drowned on the way.
LOOSE_RADII, LOOSE_PX, LOOSE_WITHIN_DEG = 2.2, 14.0, 60.0
LOOSE_SKIP_PX, LOOSE_END_PX = 3, 18
# A swelling where two vessels run into one does not make the trunk's wall wider than this.
WIDEST_PART = 1.3


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """One end of a strand sits on strand ``parent`` at the point ``at_xy``."""

    own_end: OwnEnd
    parent: int
    at_xy: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Strand:
    """A vessel before it is measured: its kind, its pixels (N, 2) as (x, y), its attachments.

    One without attachments that is not the trunk crosses a vessel of the tree and joins nothing.
    """

    kind: VesselKind
    points_xy: Array
    attachments: tuple[Attachment, ...] = field(default_factory=tuple)

    @property
    def length_px(self) -> float:
        """Length along the pixels."""
        return length_of(self.points_xy)


def read_tree(
    graph: nx.MultiGraph, strength: Float, radius_px: Float, shortest_duplicate_px: float
) -> list[Strand]:
    """Strands of the tree that holds the trunk, the trunk first; empty where there is none.

    ``strength`` and ``radius_px`` (rows, columns) stand for the calibre of what lies there. What
    is not connected to the trunk in the picture is not a vein of this tree.
    """
    if not graph.number_of_edges():
        return []
    path, trunk = trunk_path(graph, strength)
    rest = nx.MultiGraph(graph.subgraph(nx.node_connected_component(graph, path[0][0])))
    rest.remove_edges_from(path)
    wall = wall_of(trunk, radius_px)
    on_trunk = {node for edge in path for node in edge[:2]} | _within(rest, wall)
    lines = _opened_into(_lines(rest, on_trunk, wall, radius_px, strength), wall, radius_px)
    return _strands(lines, trunk, shortest_duplicate_px)


def _within(graph: nx.MultiGraph, wall: Wall) -> set[int]:
    """Junctions inside the trunk or close to its wall: what meets there opens into the trunk."""
    nodes = [node for node in graph.nodes if graph.degree(node) > 1]
    if not nodes:
        return set()
    places = np.array([graph.nodes[node]["xy"] for node in nodes])
    clear = wall.clear_of(places, SLENDER_PX)
    return {node for node, free in zip(nodes, clear, strict=True) if not free}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A vein beside the trunk; ``on_trunk`` tells of each end whether it opens into the trunk.

    ``held`` tells whether it meets any other line.
    """

    points_xy: Array
    ends: tuple[int, int]
    on_trunk: tuple[bool, bool]
    held: tuple[bool, bool]
    passes: frozenset[int]
    tangle: bool = False

    def turned(self) -> "_Line":
        return replace(
            self,
            points_xy=self.points_xy[::-1],
            ends=(self.ends[1], self.ends[0]),
            on_trunk=(self.on_trunk[1], self.on_trunk[0]),
            held=(self.held[1], self.held[0]),
        )


def _lines(
    rest: nx.MultiGraph, on_trunk: set[int], wall: Wall, radius_px: Float, strength: Float
) -> list[_Line]:
    pieces = cut_at_corners(pieces_of(rest), on_trunk, wall, radius_px)
    pieces = meeting_places(pieces, on_trunk, radius_px)
    chains = chains_of(pieces, on_trunk, radius_px, strength)
    tangles, others = find_tangles(pieces, chains, on_trunk, wall)
    met = Counter(place for chain in chains for place in (*chain.ends, *chain.passes))
    lines = [_line(chain, on_trunk, met) for chain in others]
    lines = [line for line in lines if line.on_trunk != (True, True) or _leaves(line, wall)]
    for own in tangles:
        places = {p for chain in own for p in (*chain.passes, *chain.ends)} - on_trunk
        stem = next((e for e in own[0].ends if e in on_trunk), None)
        line = _Line(
            points_xy=wound_course(own, on_trunk),
            ends=(stem if stem is not None else own[0].ends[0], own[-1].ends[1]),
            on_trunk=(stem is not None, False),
            held=(True, True),
            passes=frozenset(places),
            tangle=True,
        )
        lines.append(line)
    return lines


def _line(chain: Chain, on_trunk: set[int], met: Counter[int]) -> _Line:
    line = _Line(
        points_xy=chain.points_xy,
        ends=chain.ends,
        on_trunk=(chain.ends[0] in on_trunk, chain.ends[1] in on_trunk),
        held=(met[chain.ends[0]] > 1, met[chain.ends[1]] > 1),
        passes=chain.passes,
    )
    return line.turned() if line.on_trunk == (False, True) else line


def _leaves(line: _Line, wall: Wall) -> bool:
    """Whether any of a line lies beyond the trunk's wall."""
    distance, nearest = wall.distance_to(line.points_xy)
    return bool((distance > wall.radius_px[nearest] + SLENDER_PX).any())


def wall_of(trunk: Array, radius_px: Float) -> Wall:
    """The trunk as what other veins open into."""
    columns, rows = np.rint(trunk).astype(int).T
    radius = radius_px[rows, columns].astype(np.float64)
    limit = WIDEST_PART * float(np.median(radius))
    return Wall(axis_xy=trunk, radius_px=np.minimum(radius, limit))


def _opened_into(lines: list[_Line], wall: Wall, radius_px: Float) -> list[_Line]:
    """The lines carried straight on to the trunk where they open into it."""
    lines = [_into_trunk(line, wall) for line in lines]
    for side in (0, 1):
        lines = [
            _carried(line, side, wall, radius_px)
            if line.on_trunk[side] and not line.tangle
            else line
            for line in lines
        ]
    return lines


def _carried(line: _Line, side: int, wall: Wall, radius_px: Float) -> _Line:
    points = line.points_xy if side == 0 else line.points_xy[::-1]
    seen = mouth(points, radius_at(radius_px, points), wall)
    points = np.concatenate([carried_on(seen, wall), seen.points_xy])
    return replace(line, points_xy=points if side == 0 else points[::-1])


def _into_trunk(line: _Line, wall: Wall) -> _Line:
    """A line whose loose end, or one cut at a corner, points into the trunk close by."""
    on_trunk = list(line.on_trunk)
    for side in (0, 1):
        points = line.points_xy if side == 0 else line.points_xy[::-1]
        loose = not line.held[side] or is_corner(line.ends[side])
        if line.on_trunk[side] or not loose or len(points) < 2 * LOOSE_END_PX:
            continue
        (away,), (near,) = wall.distance_to(points[:1])
        heading = points[LOOSE_SKIP_PX] - points[LOOSE_END_PX]
        inward = wall.axis_xy[near] - points[0]
        if away < LOOSE_RADII * wall.radius_px[near] + LOOSE_PX:
            on_trunk[side] = turn_deg(_unit(heading), _unit(inward)) < LOOSE_WITHIN_DEG
    line = replace(line, on_trunk=(on_trunk[0], on_trunk[1]))
    return line.turned() if line.on_trunk == (False, True) else line


def _unit(way: Array) -> Array:
    return np.asarray(way / max(float(np.hypot(*way)), 1e-9))


def _strands(lines: list[_Line], trunk: Array, shortest_duplicate_px: float) -> list[Strand]:
    """Lines in the order in which they hang on one another, the trunk first."""
    strands = [Strand(kind=VesselKind.TRUNK, points_xy=trunk)]
    owner: dict[int, int] = {}
    left = sorted(lines, key=lambda line: -length_of(line.points_xy))
    while left:
        line = next(
            (found for held in (_opens, _hangs) for found in left if held(found, owner)), left[0]
        )
        left = [other for other in left if other is not line]
        strand = _strand(line, owner, shortest_duplicate_px)
        if strand is None:
            continue
        for place in (*line.passes, *line.ends):
            owner.setdefault(place, len(strands))
        strands.append(strand)
    return strands


def _opens(line: _Line, _owner: dict[int, int]) -> bool:
    return any(line.on_trunk)


def _hangs(line: _Line, owner: dict[int, int]) -> bool:
    return any(end in owner for end in line.ends) or (
        line.tangle and any(place in owner for place in line.passes)
    )


def _strand(line: _Line, owner: dict[int, int], shortest_duplicate_px: float) -> Strand | None:
    """A line with the vessels that its ends open into; None for a ring too small to be one."""
    parents = [
        0 if on_trunk else owner.get(end)
        for end, on_trunk in zip(line.ends, line.on_trunk, strict=True)
    ]
    if line.tangle and parents[0] is None:
        parents[0] = next((owner[place] for place in line.passes if place in owner), None)
    if parents[0] is None and parents[1] is not None:
        line, parents = line.turned(), parents[::-1]
    attachments = tuple(
        Attachment(own_end=own_end, parent=parent, at_xy=_at(line, own_end))
        for own_end, parent in zip(OwnEnd, parents, strict=True)
        if parent is not None
    )
    if line.tangle:
        return Strand(kind=VesselKind.TANGLE, points_xy=line.points_xy, attachments=attachments[:1])
    if len(attachments) == 2 and parents[0] == parents[1]:
        if length_of(line.points_xy) < shortest_duplicate_px:
            return None
        return Strand(kind=VesselKind.DUPLICATE, points_xy=line.points_xy, attachments=attachments)
    return Strand(kind=VesselKind.SIDE_VEIN, points_xy=line.points_xy, attachments=attachments)


def _at(line: _Line, own_end: OwnEnd) -> tuple[float, float]:
    x, y = line.points_xy[0 if own_end is OwnEnd.START else -1]
    return float(x), float(y)
