"""A vein network with its candidate channels, ready to be solved for any set of closed veins."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from coilwright.planning.conductance import vein_conductance_mm3
from coilwright.planning.network_flow import INFLOW, OUTFLOW, Edge, Reduction, reduction_of
from coilwright.planning.unseen_channels import Candidate, candidates_of
from coilwright.veins.vein_network import NetworkVein, VeinNetwork

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class RefluxNetwork:
    """The network and the two points of every channel that may have been missed.

    ``veins`` are those that can carry blood at all: not between two inflows or two outflows.
    It has no slots, so that its properties can be kept.
    """

    network: VeinNetwork
    candidates: tuple[Candidate, ...]

    @cached_property
    def nodes(self) -> dict[str, int]:
        """The node of each point: inflows are one, outflows another."""
        numbers = dict.fromkeys(self.network.inflows, INFLOW)
        numbers |= dict.fromkeys(self.network.outflows, OUTFLOW)
        inner = [point.id for point in self.network.points if point.id not in numbers]
        return numbers | {id: OUTFLOW + 1 + place for place, id in enumerate(inner)}

    @cached_property
    def veins(self) -> tuple[NetworkVein, ...]:
        """The veins whose two ends are different nodes, in the network's order."""
        nodes = self.nodes
        return tuple(v for v in self.network.veins if nodes[v.from_point] != nodes[v.to_point])

    def is_open(self, closed: frozenset[str]) -> npt.NDArray[np.bool_]:
        """Which of ``veins`` are open."""
        return np.array([vein.id not in closed for vein in self.veins], dtype=bool)

    def as_given_mm3(self, closed: frozenset[str]) -> Array:
        """Conductance of each open vein at its relaxed calibre where known, else measured."""
        each = [vein_conductance_mm3(vein) for vein in self.veins]
        widened = [(v.passable_mm / v.diameter_mm) ** 4 for v in self.veins]
        given: Array = (np.array(each) * np.array(widened))[self.is_open(closed)]
        return given

    def reduction(self, closed: frozenset[str], *, with_unseen: bool = False) -> Reduction:
        """The order of removals with ``closed`` shut; open veins first, then the candidates."""
        still_open = (vein for vein in self.veins if vein.id not in closed)
        edges = [self._edge(v.from_point, v.to_point, certain=True) for v in still_open]
        if with_unseen:
            edges += [self._edge(c.one, c.other, certain=False) for c in self.candidates]
        return reduction_of(edges, max(self.nodes.values()) + 1)

    def _edge(self, one: str, other: str, *, certain: bool) -> Edge:
        return Edge(a=self.nodes[one], b=self.nodes[other], certain=certain)


def reflux_network(network: VeinNetwork, length_ratio: float) -> RefluxNetwork:
    """The network with every channel that could have been missed."""
    return RefluxNetwork(network=network, candidates=candidates_of(network, length_ratio))
