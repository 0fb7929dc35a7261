"""Veins, points and pathways of a plan's network in words that can be found on the picture."""

import re
from collections.abc import Iterable, Sequence

from coilwright.planning.plan_network import PlanNetwork


def places(network: PlanNetwork) -> dict[str, str]:
    """Where every vein lies, of the undivided network and of the plan's, by its id."""
    arcs_mm = {**network.undivided_arcs_mm, **network.trunk_arcs_mm}
    veins = (*network.undivided.veins, *network.network.veins)
    return {v.id: _trunk(arcs_mm[v.id]) if v.id in arcs_mm else v.id for v in veins}


def point_words(network: PlanNetwork, point: str) -> str:
    """A point by its place: on the trunk by its arc, any other by its name."""
    for piece, arcs_mm in network.trunk_arcs_mm.items():
        vein = network.vein(piece)
        for end, arc_mm in zip((vein.from_point, vein.to_point), arcs_mm, strict=True):
            if end == point:
                return f"the trunk at {arc_mm:.0f} mm"
    vessel, at, arc = point.rpartition("@")
    return f"{vessel} at {float(arc):.0f} mm" if at and _is_number(arc) else point


def in_places(network: PlanNetwork, text: str) -> str:
    """A sentence with the ids of trunk pieces and points told by their places."""
    pieces = "|".join(map(re.escape, sorted(network.trunk_arcs_mm, key=len, reverse=True)))
    points = sorted((p.id for p in network.network.points), key=len, reverse=True)
    for pattern, told in (
        (rf"(?:{pieces})(?:, (?:{pieces}))*", lambda m: listed(network, m[0].split(", "))),
        ("|".join(map(re.escape, points)), lambda m: point_words(network, m[0])),
    ):
        text = re.sub(rf"(?<![\w:/@.])(?:{pattern})(?![\w:/@])", told, text)
    return text


def pathway_words(network: PlanNetwork, path: Sequence[str]) -> str:
    """A pathway; pieces of the trunk that follow each other are told as one."""
    said: list[str] = []
    run: tuple[float, float] | None = None
    for id in path:
        arcs_mm = network.trunk_arcs_mm.get(id)
        if arcs_mm is None:
            said, run = [*said, id], None
            continue
        if run is None:
            said.append("")
            run = arcs_mm
        run = (min(run[0], arcs_mm[0]), max(run[1], arcs_mm[1]))
        said[-1] = _trunk(run)
    return " > ".join(said)


def listed(network: PlanNetwork, ids: Iterable[str]) -> str:
    """Several veins in a row; pieces of the trunk that touch are told as one."""
    wanted = set(ids)
    arcs_mm = sorted(arcs for piece, arcs in network.trunk_arcs_mm.items() if piece in wanted)
    runs: list[tuple[float, float]] = []
    for from_mm, to_mm in arcs_mm:
        if runs and runs[-1][1] == from_mm:
            runs[-1] = (runs[-1][0], to_mm)
        else:
            runs.append((from_mm, to_mm))
    others = sorted(wanted - set(network.trunk_arcs_mm))
    return ", ".join((*map(_trunk, runs), *others))


def _trunk(arcs_mm: tuple[float, float]) -> str:
    return f"trunk {arcs_mm[0]:.0f} to {arcs_mm[1]:.0f} mm"


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
