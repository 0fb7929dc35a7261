"""Conductance of many draws at once, against other libraries, closed forms and laws."""

import networkx as nx
import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.planning.hydrostatic_head import Blood, flow_ml_per_s
from coilwright.planning.network_flow import Edge, conductance_of, flows_of, reduction_of
from coilwright.planning.reflux_draws import drawn_calibres
from coilwright.planning.reflux_network import RefluxNetwork, reflux_network
from coilwright.veins.vein_network import VeinNetwork
from planning.reflux_networks import TWO_WAYS_IN, network_of, random_network

Array = npt.NDArray[np.float64]


def ends_of(reflux: RefluxNetwork, closed: frozenset[str] = frozenset()) -> Array:
    """Node numbers of the two ends of every open vein, (veins, 2)."""
    nodes = reflux.nodes
    return np.array(
        [(nodes[v.from_point], nodes[v.to_point]) for v in reflux.veins if v.id not in closed]
    )


def flows(network: VeinNetwork, closed: frozenset[str], blood: Blood) -> dict[str, float]:
    """Flow in mL/s of every open vein at 1 mmHg, without sign."""
    reflux = reflux_network(network, 1.2)
    known = reflux.as_given_mm3(closed)[:, None]
    potentials = flows_of(reflux.reduction(closed), known).potentials[:, 0]
    names = [vein.id for vein in reflux.veins if vein.id not in closed]
    return {
        name: flow_ml_per_s(float(g) * float(abs(potentials[a] - potentials[b])), 1.0, blood)
        for name, g, (a, b) in zip(names, known[:, 0], ends_of(reflux, closed), strict=True)
    }


# pandapipes 0.16.0 (pandapower 3.3.3), in an environment of its own: both inflows an ext_grid at
# 1 bar + 133.322e-5 bar, the outflow one at 1 bar; blood a constant fluid, 1060 kg/m3 and
# 0.0035 Pa s; create_pipe_from_parameters(..., k_mm=0.0, in_service=not closed);
# pipeflow(net, friction_model="nikuradse", mode="hydraulics", max_iter_hyd=500, tol_p=1e-13,
# tol_m=1e-13, tol_res=1e-12). Its mass flow over density, in mL/s, six digits.
PIPE_NETWORK = {
    frozenset[str](): {
        "ostium": 0.964262,
        "hilar": 0.0123426,
        "trunk-1": 0.877733,
        "trunk-2": 0.857556,
        "double": 0.0988715,
        "side": 0.0201767,
        "last": 0.956428,
    },
    frozenset({"trunk-2"}): {
        "ostium": 0.19116,
        "hilar": 0.00244684,
        "trunk-1": 0.0258944,
        "double": 0.167712,
        "side": 0.0258944,
        "last": 0.167712,
    },
    frozenset({"trunk-2", "double"}): {
        "ostium": 0.0257864,
        "hilar": 0.000330066,
        "trunk-1": 0.0261165,
        "side": 0.0261165,
        "last": 0.0,
    },
}


@pytest.mark.parametrize("closed", PIPE_NETWORK, ids=lambda shut: "+".join(sorted(shut)) or "open")
def test_every_flow_is_that_of_a_general_pipe_network_library(closed: frozenset[str]) -> None:
    blood = Blood(viscosity_mpa_s=3.5, density_kg_per_m3=1060.0)
    found = flows(network_of(TWO_WAYS_IN), closed, blood)
    assert found == pytest.approx(PIPE_NETWORK[closed], rel=2e-5, abs=1e-9)


@pytest.mark.parametrize("seed", range(5))
def test_conductance_is_one_over_the_resistance_distance_of_networkx(seed: int) -> None:
    reflux = reflux_network(random_network(seed, inner=12, veins=24), 1.2)
    known = reflux.as_given_mm3(frozenset())
    graph = nx.MultiGraph()
    for (a, b), g in zip(ends_of(reflux).tolist(), known.tolist(), strict=True):
        graph.add_edge(a, b, conductance=g)
    reference = 1.0 / nx.resistance_distance(graph, 0, 1, weight="conductance", invert_weight=False)
    ours = conductance_of(reflux.reduction(frozenset()), known[:, None])
    assert ours[0] == pytest.approx(reference, rel=1e-8)


def solved_one_by_one(ends: Array, edges: Array, node_count: int) -> Array:
    """Potentials (nodes, draws) by numpy.linalg.solve, one draw after the other."""
    found = np.zeros((node_count, edges.shape[1]))
    found[0] = 1.0
    for draw in range(edges.shape[1]):
        laplacian = np.zeros((node_count, node_count))
        for (a, b), g in zip(ends, edges[:, draw], strict=True):
            laplacian[[a, b], [a, b]] += g
            laplacian[[a, b], [b, a]] -= g
        found[2:, draw] = np.linalg.solve(laplacian[2:, 2:], -laplacian[2:, 0])
    return found


@pytest.mark.parametrize("seed", range(4))
def test_every_draw_of_forty_veins_agrees_with_a_solve_of_its_own(seed: int) -> None:
    reflux = reflux_network(random_network(seed, inner=24, veins=40), 1.2)
    drawn = drawn_calibres(
        reflux.veins, scale_relative_sd=0.05, draws=50, generator=np.random.default_rng(seed)
    )
    edges, ends = drawn.conductances_mm3, ends_of(reflux)
    ours = flows_of(reflux.reduction(frozenset()), edges)
    reference = solved_one_by_one(ends, edges, len(ours.potentials))
    leaving = np.sum(
        [
            edges[row] * (1.0 - reference[max(a, b)])
            for row, (a, b) in enumerate(ends)
            if 0 in (a, b)
        ],
        axis=0,
    )
    np.testing.assert_allclose(ours.conductance, leaving, rtol=1e-8)
    np.testing.assert_allclose(ours.potentials, reference, rtol=1e-8, atol=1e-12)


@pytest.mark.parametrize("seed", range(4))
def test_what_flows_into_a_junction_flows_out_of_it(seed: int) -> None:
    reflux = reflux_network(random_network(seed, inner=10, veins=20), 1.2)
    edges = reflux.as_given_mm3(frozenset())[:, None]
    solved = flows_of(reflux.reduction(frozenset()), edges)
    net = np.zeros(len(solved.potentials))
    for (a, b), g in zip(ends_of(reflux), edges[:, 0], strict=True):
        flow = g * (solved.potentials[a, 0] - solved.potentials[b, 0])
        net[a] -= flow
        net[b] += flow
    # A wide vein carries rounding of its own: the bound is on what the widest could carry.
    np.testing.assert_allclose(net[2:], 0.0, atol=1e-13 * float(edges.max()))
    assert net[1] == pytest.approx(solved.conductance[0], rel=1e-9)
    assert net[0] == pytest.approx(-solved.conductance[0], rel=1e-9)


def test_twice_the_head_drives_twice_the_flow_through_every_vein() -> None:
    # The system with 23 mmHg at the inflow and 0 at the outflow, solved as it stands.
    reflux = reflux_network(random_network(7, inner=8, veins=14), 1.2)
    edges, ends = reflux.as_given_mm3(frozenset())[:, None], ends_of(reflux)
    potentials = flows_of(reflux.reduction(frozenset()), edges).potentials
    at_1 = solved_one_by_one(ends, edges, len(potentials))
    for head_mmhg in (23.0, 46.0):
        laplacian = np.zeros((len(potentials), len(potentials)))
        for (a, b), g in zip(ends, edges[:, 0], strict=True):
            laplacian[[a, b], [a, b]] += g
            laplacian[[a, b], [b, a]] -= g
        inner = np.linalg.solve(laplacian[2:, 2:], -laplacian[2:, 0] * head_mmhg)
        np.testing.assert_allclose(inner, head_mmhg * potentials[2:, 0], rtol=1e-8)
    np.testing.assert_allclose(at_1, potentials, rtol=1e-8, atol=1e-12)


widths = st.floats(min_value=0.3, max_value=10.0)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    widened=st.integers(0, 17),
    factor=st.floats(1.0, 3.0),
    shut=st.sets(st.integers(0, 17), max_size=6),
)
def test_a_wider_vein_never_lowers_the_conductance(
    seed: int, widened: int, factor: float, shut: set[int]
) -> None:
    # Rayleigh's monotonicity law (Doyle and Snell, Random walks and electric networks, 1984).
    reflux = reflux_network(random_network(seed, inner=8, veins=18), 1.2)
    closed = frozenset(f"v{number}" for number in shut - {widened})
    edges = reflux.as_given_mm3(closed)[:, None]
    names = [vein.id for vein in reflux.veins if vein.id not in closed]
    wider = edges.copy()
    if f"v{widened}" in names:
        wider[names.index(f"v{widened}")] *= factor**4
    before, after = (conductance_of(reflux.reduction(closed), g)[0] for g in (edges, wider))
    assert after >= before * (1.0 - 1e-12)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    ends=st.tuples(st.integers(0, 9), st.integers(0, 9)).filter(lambda two: two[0] != two[1]),
    diameter_mm=widths,
    shut=st.sets(st.integers(0, 17), max_size=8),
)
def test_one_more_open_vein_never_lowers_the_conductance(
    seed: int, ends: tuple[int, int], diameter_mm: float, shut: set[int]
) -> None:
    # Rayleigh's law again: a new channel is one widened from nothing.
    reflux = reflux_network(random_network(seed, inner=8, veins=18), 1.2)
    closed = frozenset(f"v{number}" for number in shut)
    known = reflux.as_given_mm3(closed)[:, None]
    edges = [Edge(a=int(a), b=int(b)) for a, b in ends_of(reflux, closed)]
    before = conductance_of(reduction_of(edges, 10), known)[0]
    more = np.concatenate([known, [[diameter_mm**4 / 80.0]]])
    after = conductance_of(reduction_of([*edges, Edge(a=ends[0], b=ends[1])], 10), more)[0]
    assert after >= before * (1.0 - 1e-12)


def test_an_uncertain_channel_that_is_not_there_changes_nothing_and_makes_no_nan() -> None:
    # By hand: 6 and 3 in a row conduct 2; node 3 hangs on a channel that no draw has.
    edges = [Edge(a=0, b=2), Edge(a=2, b=1), Edge(a=2, b=3, certain=False)]
    edges += [Edge(a=3, b=1, certain=False)]
    solved = flows_of(reduction_of(edges, 4), np.array([[6.0, 6.0], [3.0, 3.0], [0, 4], [0, 4]]))
    # With it: 4 and 4 in a row are 2, beside 3 that is 5; 6 and 5 in a row conduct 30 / 11.
    np.testing.assert_allclose(solved.conductance, [2.0, 30.0 / 11.0], rtol=1e-15)
    assert np.isfinite(solved.potentials).all()


def test_a_network_of_two_parts_conducts_exactly_nothing() -> None:
    parts = reduction_of([Edge(a=0, b=2), Edge(a=3, b=1)], 4)
    assert conductance_of(parts, np.ones((2, 3))).tolist() == [0.0, 0.0, 0.0]


def test_an_edge_onto_its_own_node_is_refused() -> None:
    with pytest.raises(ValueError, match="leaves and enters the same node 2"):
        reduction_of([Edge(a=2, b=2)], 3)


def test_edges_of_the_wrong_number_are_refused() -> None:
    with pytest.raises(ValueError, match="1 edges are needed"):
        conductance_of(reduction_of([Edge(a=0, b=1)], 2), np.ones((2, 3)))
