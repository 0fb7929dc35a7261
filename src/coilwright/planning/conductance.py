"""Laminar conductance of a vein network: all inflows at one pressure, all outflows at another.

A vein conducts as the fourth power of its measured diameter over its length (Poiseuille's law:
g = pi d^4 / (128 viscosity length)). Only ratios are used here, so pi, 128 and the viscosity, the
same in every vein, are left out.

Points are taken out one by one, each star of veins replaced by the mesh that conducts alike
(Campbell 1911; Rosen 1924). It adds, multiplies and divides positive numbers and never
subtracts, so no digits are lost where a wide vein stands beside a hair-fine one, as they are in
a solved Laplacian.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from coilwright.veins.vein_network import NetworkVein, joined_to

# The merged terminals; the empty text is no point's id.
_INFLOW = ("inflow", "")
_OUTFLOW = ("outflow", "")
_Node = tuple[str, str]
_Mesh = dict[_Node, dict[_Node, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedFlow:
    """What a network conducts, and its potentials: 1 at the inflows, 0 at the outflows.

    ``conductance_mm3`` is the sum of d^4 / length as the whole network conducts it. Points that
    nothing joins to an inflow or outflow have no potential and are left out.
    """

    conductance_mm3: float
    potentials: dict[str, float]


def vein_conductance_mm3(vein: NetworkVein) -> float:
    """Fourth power of the measured diameter over the length.

    Examples
    --------
    >>> vein = NetworkVein(id="a", from_point="p", to_point="q", length_mm=8.0, diameter_mm=2.0,
    ...                    diameter_sd_mm=0.1, may_occlude=True)
    >>> vein_conductance_mm3(vein)
    2.0
    """
    return vein.diameter_mm**4 / vein.length_mm


def solve_flow(
    veins: Iterable[NetworkVein], inflows: frozenset[str], outflows: frozenset[str]
) -> SolvedFlow:
    """Conductance from all inflows to all outflows, and the potential of every joined point."""
    veins = tuple(veins)
    mesh = _mesh(veins, inflows, outflows)
    removed: list[tuple[_Node, dict[_Node, float]]] = []
    inner = set(mesh) - {_INFLOW, _OUTFLOW}
    while inner:
        # Fewest neighbours first keeps the meshes small; the name makes it repeatable.
        node = min(inner, key=lambda one: (len(mesh[one]), one))
        inner.remove(node)
        removed.append((node, _taken_out(mesh, node)))
    potentials = {_INFLOW: 1.0, _OUTFLOW: 0.0}
    for node, arms in reversed(removed):
        total = sum(arms.values())
        potentials[node] = sum(g * potentials[other] for other, g in arms.items()) / total
    found = {name: value for (kind, name), value in potentials.items() if kind == "point"}
    found |= dict.fromkeys(inflows, 1.0) | dict.fromkeys(outflows, 0.0)
    return SolvedFlow(conductance_mm3=mesh.get(_INFLOW, {}).get(_OUTFLOW, 0.0), potentials=found)


def _mesh(
    veins: tuple[NetworkVein, ...], inflows: frozenset[str], outflows: frozenset[str]
) -> _Mesh:
    """Conductances between joined points, inflows merged into one node and outflows likewise."""
    joined = joined_to(inflows | outflows, veins)
    mesh: _Mesh = {}
    for vein in veins:
        if vein.from_point not in joined:
            continue
        a, b = (_node(end, inflows, outflows) for end in (vein.from_point, vein.to_point))
        if a != b:
            _add(mesh, a, b, vein_conductance_mm3(vein))
    return mesh


def _node(point: str, inflows: frozenset[str], outflows: frozenset[str]) -> _Node:
    if point in inflows:
        return _INFLOW
    return _OUTFLOW if point in outflows else ("point", point)


def _taken_out(mesh: _Mesh, node: _Node) -> dict[_Node, float]:
    """Replace a node by the mesh between its neighbours; its arms, for its potential."""
    arms = mesh.pop(node)
    total = sum(arms.values())
    for other in arms:
        del mesh[other][node]
    names = sorted(arms)
    for place, a in enumerate(names):
        for b in names[place + 1 :]:
            _add(mesh, a, b, arms[a] * arms[b] / total)
    return arms


def _add(mesh: _Mesh, a: _Node, b: _Node, conductance_mm3: float) -> None:
    for one, other in ((a, b), (b, a)):
        arms = mesh.setdefault(one, {})
        arms[other] = arms.get(other, 0.0) + conductance_mm3
