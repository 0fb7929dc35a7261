"""Where an unseen channel would matter most: the places worth a look before finishing.

For each two points of the network, one channel of the prior's median calibre is put between them
and the network solved again with the option's veins shut: all candidates at once, one per column.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import numpy.typing as npt

from coilwright.planning.network_flow import conductance_of
from coilwright.planning.reflux_network import RefluxNetwork
from coilwright.planning.residual_band import residual_band
from coilwright.planning.unseen_channels import Candidate
from coilwright.veins.vein_network import VeinNetwork, joined_to

Array = npt.NDArray[np.float64]

_PLACES_SHOWN = 5
# Less than this part of a conductance is rounding: each network is solved in an order of its own.
_ROUNDING = 1e-9


class Stretch(StrEnum):
    """Which part of the closed network a point lies in."""

    ABOVE = "above the closure"
    BETWEEN = "shut off between closures"
    BELOW = "below the closure"
    OPEN = "where the way is still open"


@dataclass(frozen=True, slots=True, kw_only=True)
class LookHere:
    """Two places between which one unseen channel would matter, worst first.

    ``band`` is what such a channel would leave, known ways included.
    """

    leaves: str
    leaves_stretch: Stretch
    rejoins: str
    rejoins_stretch: Stretch
    band: str
    text: str


def look_here(
    reflux: RefluxNetwork, closed: frozenset[str], median_calibre_mm: float
) -> tuple[LookHere, ...]:
    """The places where one unseen channel would add most to what the option leaves."""
    if not reflux.candidates:
        return ()
    added = median_calibre_mm**4 / np.array([one.length_mm for one in reflux.candidates])
    without, after = _without_and_with(reflux, closed, added)
    unclosed, before = _without_and_with(reflux, frozenset(), added)
    order = np.argsort(without - after, kind="stable")[:_PLACES_SHOWN]
    least = _ROUNDING * max(without, unclosed)
    return tuple(
        _place(reflux.network, closed, reflux.candidates[i], float(after[i] / before[i]))
        for i in order
        if after[i] - without > least
    )


def _without_and_with(
    reflux: RefluxNetwork, closed: frozenset[str], added_mm3: Array
) -> tuple[float, Array]:
    """Conductance with no unseen channel, and (candidates,) with each of them alone."""
    known = reflux.as_given_mm3(closed)[:, None]
    columns = np.repeat(known, len(added_mm3), axis=1)
    with_each = conductance_of(
        reflux.reduction(closed, with_unseen=True), np.concatenate([columns, np.diag(added_mm3)])
    )
    return float(conductance_of(reflux.reduction(closed), known)[0]), with_each


def _place(
    network: VeinNetwork, closed: frozenset[str], candidate: Candidate, share: float
) -> LookHere:
    stretches = stretches_of(network, closed)
    ends = sorted(
        (candidate.one, candidate.other), key=lambda one: list(Stretch).index(stretches[one])
    )
    leaves, rejoins = ends
    band = residual_band(min(share, 1.0))
    return LookHere(
        leaves=leaves,
        leaves_stretch=stretches[leaves],
        rejoins=rejoins,
        rejoins_stretch=stretches[rejoins],
        band=band,
        text=(
            f"Worth a look before finishing: a channel that nobody saw from {leaves} "
            f"({stretches[leaves].value}) to {rejoins} ({stretches[rejoins].value}) could leave "
            f"{band}."
        ),
    )


def stretches_of(network: VeinNetwork, closed: frozenset[str]) -> dict[str, Stretch]:
    """The part of the network that each point lies in once ``closed`` is shut."""
    still_open = [vein for vein in network.veins if vein.id not in closed]
    above = joined_to(network.inflows, still_open)
    below = joined_to(network.outflows, still_open)
    names = {(True, True): Stretch.OPEN, (True, False): Stretch.ABOVE}
    names |= {(False, True): Stretch.BELOW, (False, False): Stretch.BETWEEN}
    return {point.id: names[point.id in above, point.id in below] for point in network.points}
