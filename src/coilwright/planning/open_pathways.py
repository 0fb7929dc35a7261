"""The paths from an inflow to an outflow that are open, the shortest first."""

from collections.abc import Collection
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count

from coilwright.veins.vein_network import NetworkVein, VeinNetwork, joined_to, veins_at

# More than anybody reads, and few enough to list in a moment.
MOST_LISTED = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenPathways:
    """Vein ids from inflow to outflow, path by path; ``cut_short`` where there are more."""

    paths: tuple[tuple[str, ...], ...]
    cut_short: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A path begun: the points in their order, and the veins between them."""

    points: tuple[str, ...]
    veins: tuple[str, ...]


def open_pathways(network: VeinNetwork, closed: Collection[str]) -> OpenPathways:
    """Every simple path over veins that are not closed, by number of veins and then by ids.

    No point stands twice in a path; another inflow or outflow may lie on the way. Parallel veins
    make paths of their own.
    """
    still_open = [vein for vein in network.veins if vein.id not in closed]
    at_point = veins_at(still_open)
    to_go = _veins_to_go(network.outflows, at_point)
    number = count()
    waiting: list[tuple[int, int, tuple[str, ...], int, _Way]] = []

    def put(way: _Way) -> None:
        steps = len(way.veins)
        heappush(waiting, (steps + to_go[way.points[-1]], -steps, way.veins, next(number), way))

    for inflow in sorted(network.inflows & set(to_go)):
        put(_Way(points=(inflow,), veins=()))
    found: list[tuple[str, ...]] = []
    while waiting:
        way = heappop(waiting)[-1]
        if way.points[-1] in network.outflows:
            if len(found) == MOST_LISTED:
                return OpenPathways(paths=_sorted(found), cut_short=True)
            found.append(way.veins)
        for longer in _longer(way, network, still_open, at_point):
            put(longer)
    return OpenPathways(paths=_sorted(found), cut_short=False)


def _sorted(paths: list[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    return tuple(sorted(paths, key=lambda path: (len(path), path)))


def _longer(
    way: _Way,
    network: VeinNetwork,
    still_open: list[NetworkVein],
    at_point: dict[str, list[NetworkVein]],
) -> list[_Way]:
    """The ways one vein longer that can still end at an outflow."""
    passed = set(way.points)
    ahead = [v for v in still_open if not {v.from_point, v.to_point} & passed]
    hopeful = joined_to(network.outflows - passed, ahead)
    here = way.points[-1]
    return [
        _Way(points=(*way.points, vein.other_end(here)), veins=(*way.veins, vein.id))
        for vein in at_point.get(here, ())
        if vein.other_end(here) in hopeful
    ]


def _veins_to_go(
    outflows: frozenset[str], at_point: dict[str, list[NetworkVein]]
) -> dict[str, int]:
    """Number of veins from each point to the nearest outflow."""
    found = dict.fromkeys(outflows, 0)
    ring = sorted(outflows)
    while ring:
        following = []
        for point in ring:
            for vein in at_point.get(point, ()):
                other = vein.other_end(point)
                if other not in found:
                    found[other] = found[point] + 1
                    following.append(other)
        ring = following
    return found
