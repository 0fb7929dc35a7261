"""Points that may be joined at no loss, because they stand at one potential."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from coilwright.planning.conductance import SolvedFlow, vein_conductance_mm3
from coilwright.veins.vein_network import NetworkVein, VeinNetwork, joined_to

# Potentials, of 0 to 1, are solved to some 1e-15: nearer ones than this are one potential.
SAME_POTENTIAL = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class PotentialGroups:
    """The group of every point: from 0 where the potential is fixed, below 0 where it floats.

    A floating group is joined to no inflow or outflow by the veins that stay open.
    ``least_share`` is less than what any flow between two groups of different potential adds to
    the conductance, as a share of it.
    """

    of_point: dict[str, int]
    least_share: float


def potential_groups(
    network: VeinNetwork, staying: Sequence[NetworkVein], solved: SolvedFlow
) -> PotentialGroups:
    """The groups that ``staying`` veins make; ``solved`` is the flow through them alone."""
    ranked = sorted((value, name) for name, value in solved.potentials.items())
    of_point = {ranked[0][1]: 0}
    gaps = [1.0]
    for (below, _), (potential, name) in pairwise(ranked):
        apart = potential - below > SAME_POTENTIAL
        of_point[name] = max(of_point.values()) + apart
        gaps += [potential - below] if apart else []
    floating = 0
    for point in network.points:
        if point.id not in of_point:
            floating -= 1
            of_point |= dict.fromkeys(joined_to({point.id}, staying), floating)
    # A path put between two potentials adds difference^2 / (its resistance + that of the network
    # seen from its ends) (Thevenin): both together are less than all veins one after another.
    resistance = sum(1.0 / vein_conductance_mm3(vein) for vein in network.veins)
    least_share = min(gaps) ** 2 / resistance / solved.conductance_mm3
    return PotentialGroups(of_point=of_point, least_share=least_share)
