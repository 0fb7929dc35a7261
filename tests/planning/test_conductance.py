"""Laminar conductance against closed forms and against a plainly solved Laplacian."""

from typing import TYPE_CHECKING

import pytest

from coilwright.planning.conductance import solve_flow, vein_conductance_mm3
from planning.closure_by_trial import conductance, network_of, random_network, vein

if TYPE_CHECKING:
    from coilwright.veins.vein_network import VeinNetwork


def whole_mm3(network: "VeinNetwork") -> float:
    return solve_flow(network.veins, network.inflows, network.outflows).conductance_mm3


def test_twice_the_calibre_conducts_sixteen_times_as_much() -> None:
    # Poiseuille's law: the fourth power of the diameter over the length.
    thin, wide = vein("a", "p q", diameter_mm=1.5), vein("b", "p q", diameter_mm=3.0)
    assert vein_conductance_mm3(wide) == pytest.approx(16 * vein_conductance_mm3(thin), rel=1e-14)


def test_veins_in_series_add_their_resistances_and_parallel_ones_their_conductances() -> None:
    # By hand: 1/16 + 1/1 = 17/16, so 16/17; beside it 2^4 / 4 = 4.
    network = network_of(
        "in> a out!",
        vein("one", "in a", diameter_mm=2, length_mm=1),
        vein("two", "a out", diameter_mm=1, length_mm=1),
        vein("beside", "in out", diameter_mm=2, length_mm=4),
    )
    assert whole_mm3(network) == pytest.approx(16 / 17 + 4, rel=1e-14)


def test_a_cube_of_even_veins_conducts_six_fifths_across_its_diagonal() -> None:
    # Textbook: twelve unit resistances along a cube's edges are 5/6 from corner to far corner.
    edges = [(a, a | bit) for a in range(8) for bit in (1, 2, 4) if not a & bit]
    veins = [vein(f"v{a}{b}", f"c{a} c{b}", diameter_mm=1, length_mm=1) for a, b in edges]
    network = network_of("c0> c1 c2 c3 c4 c5 c6 c7!", *veins)
    assert whole_mm3(network) == pytest.approx(6 / 5, rel=1e-14)


def test_a_hair_beside_wide_veins_loses_no_digits() -> None:
    # Two hairs of 0.01 mm in series behind a trunk of 10 mm: 1e-8 / 10 each, the trunk's
    # resistance 1e-3 against theirs of 1e9, so half of 1e-9 less one part in 2e12.
    network = network_of(
        "in> a b out!",
        vein("trunk", "in a", diameter_mm=10.0, length_mm=10.0),
        vein("hair1", "a b", diameter_mm=0.01, length_mm=10.0),
        vein("hair2", "b out", diameter_mm=0.01, length_mm=10.0),
    )
    assert whole_mm3(network) == pytest.approx(1 / (1e-3 + 2e9), rel=1e-14)


def test_random_networks_conduct_as_their_solved_laplacian_says() -> None:
    for seed in range(880_000, 880_100):
        network = random_network(seed)
        assert whole_mm3(network) == pytest.approx(conductance(network), rel=1e-9, abs=0), seed


def test_opening_a_vein_never_lowers_the_conductance() -> None:
    # Rayleigh's monotonicity law.
    for seed in range(880_100, 880_150):
        network = random_network(seed)
        ends = (network.inflows, network.outflows)
        whole = solve_flow(network.veins, *ends).conductance_mm3
        for left_out in network.veins:
            rest = [one for one in network.veins if one is not left_out]
            assert solve_flow(rest, *ends).conductance_mm3 <= whole * (1 + 1e-12), seed
