"""Cheaper closures whose flow cannot be told from the least.

Closing a vein at great cost to lower the flow by a billionth is no least closure: conductances
that differ by less count as the same. That can only matter in a network where some vein, in the
flow that is left, would carry next to nothing but not nothing.
"""

from collections.abc import Callable, Sequence
from typing import Any

from coilwright.planning.conductance import solve_flow
from coilwright.planning.exact_cost import whole_costs
from coilwright.veins.vein_network import NetworkVein, VeinNetwork

# Nobody knows a flow to a billionth.
SAME_FLOW_SHARE = 1e-9
# Closures that are tried before the best so far stands: all of those of twelve veins.
MOST_TRIED = 5000
# With more veins than this a trial takes too long for that many.
MOST_VEINS = 60


def cheapest_of_same_flow(
    network: VeinNetwork,
    closable: Sequence[NetworkVein],
    closed: frozenset[str],
    preference: Callable[[frozenset[str]], Any],
) -> frozenset[str]:
    """The cheapest subset of ``closable`` whose flow is the least but for a billionth.

    ``closed`` is one that leaves the least; where more than ``MOST_TRIED`` would have to be tried,
    it or the best of those that were tried, and it alone in a network of more than ``MOST_VEINS``.
    Equally cheap ones go by ``preference``.
    """
    if len(network.veins) > MOST_VEINS:
        return closed
    return _Trial(network, closable, preference).best(closed)


class _Trial:
    """Opens veins one by one, the dearest first; opening one more never lowers the flow."""

    def __init__(
        self,
        network: VeinNetwork,
        closable: Sequence[NetworkVein],
        preference: Callable[[frozenset[str]], Any],
    ) -> None:
        ids = {vein.id for vein in closable}
        self._network, self._preference, self._costs = network, preference, whole_costs(closable)
        self._staying = [vein for vein in network.veins if vein.id not in ids]
        self._most_mm3 = self._conductance_mm3([]) * (1.0 + SAME_FLOW_SHARE)
        self._tried = 0
        may_open = [v for v in closable if self._conductance_mm3([v]) <= self._most_mm3]
        self._may_open = sorted(may_open, key=lambda v: (-self._costs[v.id], v.id))
        opening = {vein.id for vein in may_open}
        self._always = [vein.id for vein in closable if vein.id not in opening]

    def best(self, closed: frozenset[str]) -> frozenset[str]:
        self._best = (self._cost(closed), self._preference(closed), closed)
        self._decide(0, [], self._always)
        return self._best[2]

    def _decide(self, place: int, still_open: list[NetworkVein], closed: list[str]) -> None:
        cost = self._cost(closed)
        if cost > self._best[0] or self._tried > MOST_TRIED:
            return
        if place == len(self._may_open):
            found = frozenset(closed)
            key = self._preference(found)
            if (cost, key) < self._best[:2]:
                self._best = (cost, key, found)
            return
        vein = self._may_open[place]
        self._tried += 1
        if self._conductance_mm3([*still_open, vein]) <= self._most_mm3:
            self._decide(place + 1, [*still_open, vein], closed)
        self._decide(place + 1, still_open, [*closed, vein.id])

    def _cost(self, closed: Sequence[str] | frozenset[str]) -> int:
        return sum(self._costs[one] for one in closed)

    def _conductance_mm3(self, still_open: Sequence[NetworkVein]) -> float:
        veins = [*self._staying, *still_open]
        ends = (self._network.inflows, self._network.outflows)
        return solve_flow(veins, *ends).conductance_mm3
