"""A vein of a network cut into pieces, so that each of several levels on it can be closed alone."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from coilwright.veins.vein_network import NetworkPoint, NetworkVein, PointKind, VeinNetwork


def divided(network: VeinNetwork, vein_id: str, at_mm: Sequence[float]) -> VeinNetwork:
    """The network with one vein cut at distances from its first end; it conducts as before.

    Pieces are named ``trunk/1``, ``trunk/2``, ... from that end, the new points ``trunk@40`` and so
    on by their distance. Each piece keeps the calibre, its uncertainty, and the cost.

    Raises
    ------
    ValueError
        No such vein, or a cut that is not inside it.
    """
    vein = next((one for one in network.veins if one.id == vein_id), None)
    if vein is None:
        raise ValueError(f"{vein_id} is no vein of the network")
    cuts_mm = sorted(set(at_mm))
    if not all(0.0 < cut < vein.length_mm for cut in cuts_mm):
        raise ValueError(f"a cut of {vein_id} must lie inside its {vein.length_mm:g} mm")
    new = [NetworkPoint(id=f"{vein_id}@{cut:g}", kind=PointKind.JUNCTION) for cut in cuts_mm]
    veins = [one for one in network.veins if one.id != vein_id]
    return replace(
        network,
        points=(*network.points, *new),
        veins=(*veins, *_pieces(vein, cuts_mm, [point.id for point in new])),
    )


def _pieces(
    vein: NetworkVein, cuts_mm: Sequence[float], points: Sequence[str]
) -> tuple[NetworkVein, ...]:
    ends = [vein.from_point, *points, vein.to_point]
    arcs_mm = [0.0, *cuts_mm, vein.length_mm]
    return tuple(
        replace(
            vein,
            id=f"{vein.id}/{number}",
            from_point=one,
            to_point=other,
            length_mm=to_mm - from_mm,
        )
        for number, ((one, other), (from_mm, to_mm)) in enumerate(
            zip(pairwise(ends), pairwise(arcs_mm), strict=True), start=1
        )
    )
