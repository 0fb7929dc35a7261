"""The same draws of calibres and unseen channels through every option's closed network."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from coilwright.planning.hydrostatic_head import Blood, flow_ml_per_s, reynolds
from coilwright.planning.network_flow import Reduction, flows_of
from coilwright.planning.reflux_draws import CalibreDraws, drawn_calibres
from coilwright.planning.reflux_network import RefluxNetwork
from coilwright.planning.unseen_channels import UnseenPrior, unseen_conductances_mm3

Array = npt.NDArray[np.float64]

# Few enough at a time that the mesh of one removal stays in the processor's cache.
_AT_ONCE = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawTask:
    """What stays the same over all draws."""

    reflux: RefluxNetwork
    options: tuple[frozenset[str], ...]
    prior: UnseenPrior
    blood: Blood
    laminar_max: float
    scale_relative_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnReflux:
    """``shares`` (options, draws): what conducts after over before, 0 where nothing did.

    ``too_fast`` (1 + options, veins) is the share of draws in which a vein's flow is beyond the
    laminar model: before any closure, then with each option; 0 for a closed vein.
    """

    shares: Array
    too_fast: Array


def drawn_reflux(
    task: DrawTask, driving_mmhg: Array, generator: np.random.Generator
) -> DrawnReflux:
    """Draw and solve, one draw for each of ``driving_mmhg``."""
    states = [_State(task, shut) for shut in (frozenset[str](), *task.options)]
    through = np.empty((len(states), len(driving_mmhg)))
    too_fast = np.zeros((len(states), len(task.reflux.veins)))
    for start in range(0, len(driving_mmhg), _AT_ONCE):
        some = slice(start, start + _AT_ONCE)
        drawn = _Draws.of(task, np.maximum(driving_mmhg[some], 0.0), generator)
        for row, state in enumerate(states):
            through[row, some], fast = state.solved(drawn)
            too_fast[row, state.is_open] += fast
    before, after = through[0], through[1:]
    # Rounding alone could put the share of a network in which nothing was closed above 1.
    shares = np.minimum(after / np.where(before > 0.0, before, 1.0), 1.0)
    return DrawnReflux(shares=shares, too_fast=too_fast / len(driving_mmhg))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draws:
    """Some draws, the same for every state."""

    calibres: CalibreDraws
    unseen_mm3: Array
    driving_mmhg: Array

    @classmethod
    def of(cls, task: DrawTask, driving_mmhg: Array, generator: np.random.Generator) -> "_Draws":
        calibres = drawn_calibres(
            task.reflux.veins,
            scale_relative_sd=task.scale_relative_sd,
            draws=len(driving_mmhg),
            generator=generator,
        )
        unseen_mm3 = unseen_conductances_mm3(
            task.reflux.candidates, task.prior, calibres.scale, generator
        )
        return cls(calibres=calibres, unseen_mm3=unseen_mm3, driving_mmhg=driving_mmhg)


class _State:
    """One set of closed veins: its two orders of removal, without unseen channels and with."""

    def __init__(self, task: DrawTask, shut: frozenset[str]) -> None:
        reflux = task.reflux
        self._task = task
        self.is_open = reflux.is_open(shut)
        veins = [vein for vein in reflux.veins if vein.id not in shut]
        self._ends = np.array(
            [[reflux.nodes[v.from_point], reflux.nodes[v.to_point]] for v in veins], dtype=np.intp
        ).reshape(-1, 2)
        self._plain = reflux.reduction(shut)
        self._with_unseen = reflux.reduction(shut, with_unseen=True)

    def solved(self, drawn: _Draws) -> tuple[Array, Array]:
        """Conductance (draws,), and in how many draws each open vein's flow is too fast."""
        through = np.empty(len(drawn.driving_mmhg))
        fast = np.zeros(len(self._ends))
        has_unseen = drawn.unseen_mm3.any(axis=0)
        # The mesh with every candidate in it is far denser: only the draws that need it go there.
        for needs, reduction in ((False, self._plain), (True, self._with_unseen)):
            these = np.flatnonzero(has_unseen == needs)
            if len(these):
                through[these], too_fast = self._some(drawn, these, reduction, needs)
                fast += too_fast
        return through, fast

    def _some(
        self, drawn: _Draws, these: npt.NDArray[np.intp], reduction: Reduction, unseen: bool
    ) -> tuple[Array, Array]:
        known = drawn.calibres.conductances_mm3[np.ix_(self.is_open, these)]
        edges = np.concatenate([known, drawn.unseen_mm3[:, these]]) if unseen else known
        flows = flows_of(reduction, edges)
        drop = np.abs(flows.potentials[self._ends[:, 0]] - flows.potentials[self._ends[:, 1]])
        flow = flow_ml_per_s(known * drop, drawn.driving_mmhg[these], self._task.blood)
        diameters_mm = drawn.calibres.diameters_mm[np.ix_(self.is_open, these)]
        number = reynolds(flow, diameters_mm, self._task.blood)
        return flows.conductance, (number > self._task.laminar_max).sum(axis=1)
