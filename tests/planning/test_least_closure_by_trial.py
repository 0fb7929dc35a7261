"""The least closure against trying every subset, on random networks (networkx and numpy)."""

from fractions import Fraction

import networkx as nx
import pytest

from coilwright.planning.least_closure import least_closure
from planning.closure_by_trial import (
    closure_by_trial,
    graph_of,
    random_network,
    reached,
)

# Blocks of seeds, so that a failure names a few; none of them was used while the code was written.
BLOCKS = [range(start, start + 50) for start in range(770_000, 770_300, 50)]


@pytest.mark.parametrize("seeds", BLOCKS, ids=lambda seeds: str(seeds[0]))
def test_the_answer_is_that_of_trying_every_subset(seeds: range) -> None:
    for seed in seeds:
        network = random_network(seed)
        answer, tried = least_closure(network), closure_by_trial(network)
        assert answer.complete is tried.complete, seed
        assert frozenset(answer.occlude) == tried.occlude, seed
        assert Fraction(repr(answer.cost)) == tried.cost, seed
        assert answer.unreachable == tried.unreachable, seed
        share = tried.residual_conductance_share
        assert answer.residual_conductance_share == pytest.approx(share, rel=1e-8, abs=0), seed


@pytest.mark.parametrize("seeds", BLOCKS, ids=lambda seeds: str(seeds[0]))
def test_no_vein_that_was_closed_bars_the_way_to_the_next(seeds: range) -> None:
    for seed in seeds:
        network = random_network(seed)
        order = least_closure(network).occlude
        veins = {vein.id: vein for vein in network.veins}
        for place, vein_id in enumerate(order):
            ends = {veins[vein_id].from_point, veins[vein_id].to_point}
            assert ends & reached(network, order[:place]), (seed, vein_id)


@pytest.mark.parametrize("seeds", BLOCKS, ids=lambda seeds: str(seeds[0]))
def test_the_open_pathways_are_all_simple_paths_that_are_left(seeds: range) -> None:
    for seed in seeds:
        network = random_network(seed)
        answer = least_closure(network)
        graph = graph_of(network, answer.occlude)
        paths = {
            tuple(edge[2] for edge in path)
            for inflow in network.inflows
            for outflow in network.outflows
            for path in nx.all_simple_edge_paths(graph, inflow, outflow)
        }
        assert not answer.open_pathways_cut_short
        assert set(answer.open_pathways) == paths, seed
        assert len(answer.open_pathways) == len(paths), seed


def test_the_random_networks_hold_both_kinds_of_answer() -> None:
    answers = [least_closure(random_network(seed)) for block in BLOCKS for seed in block]
    assert sum(a.complete and len(a.occlude) > 1 for a in answers) > 50
    assert sum(not a.complete and len(a.occlude) > 0 for a in answers) > 50
