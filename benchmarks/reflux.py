"""Draws of residual reflux per second, beside a plain solve of each draw in the same run.

A random network of 40 veins and 26 points, one inflow and one outflow, with unseen channels by the
shipped limits, and again without them. Both are given the same conductances and find what the
network conducts before any closure. The plain way sets up the Laplacian of one draw after the
other and calls `numpy.linalg.solve`. Then the whole comparison is timed: drawing, two options and
the state before, each with its flows and Reynolds numbers, bands, and the places worth a look.

    OPENBLAS_NUM_THREADS=1 .venv/bin/python benchmarks/reflux.py [--draws 10000] [--times 5]
"""

import argparse
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from coilwright.planning.hydrostatic_head import Column
from coilwright.planning.network_flow import INFLOW, OUTFLOW, conductance_of
from coilwright.planning.reflux_draws import drawn_calibres
from coilwright.planning.reflux_network import RefluxNetwork, reflux_network
from coilwright.planning.residual_reflux import compare_residual
from coilwright.planning.unseen_channels import prior_of, unseen_conductances_mm3
from coilwright.protocol import Protocol, load_protocol
from coilwright.veins.vein_network import (
    NetworkCatheter,
    NetworkPoint,
    NetworkVein,
    PointKind,
    VeinNetwork,
)

Array = npt.NDArray[np.float64]

VEINS, INNER = 40, 24
SEED = 8600
SCALE_RELATIVE_SD = 0.06
# As many draws at a time as the comparison takes.
AT_ONCE = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class Duel:
    """Draws per second of both, the ratio, and how far their answers are apart."""

    ours_per_s: float
    plain_per_s: float
    apart_relative: float

    @property
    def ratio(self) -> float:
        """How many of our draws go into one of the plain way's."""
        return self.ours_per_s / self.plain_per_s


def random_network(seed: int) -> VeinNetwork:
    """A chain from inflow to outflow with further veins between any two of its points."""
    rng = np.random.default_rng(seed)
    names = ["renal", *(f"p{number}" for number in range(INNER)), "plexus"]
    ends = list(pairwise(names))
    while len(ends) < VEINS:
        one, other = rng.choice(len(names), 2, replace=False)
        ends.append((names[one], names[other]))
    kinds = {"renal": PointKind.INFLOW, "plexus": PointKind.OUTFLOW}
    return VeinNetwork(
        points=tuple(NetworkPoint(id=n, kind=kinds.get(n, PointKind.JUNCTION)) for n in names),
        veins=tuple(
            NetworkVein(
                id=f"v{number}",
                from_point=one,
                to_point=other,
                length_mm=float(rng.uniform(20, 150)),
                diameter_mm=float(rng.uniform(1, 6)),
                diameter_sd_mm=0.4,
                may_occlude=True,
            )
            for number, (one, other) in enumerate(ends)
        ),
        catheter=NetworkCatheter(enters_at="renal", outer_diameter_mm=1.0),
    )


def drawn_edges(reflux: RefluxNetwork, protocol: Protocol, draws: int) -> Array:
    """Conductances (veins and candidates, draws) by the shipped prior."""
    generator = np.random.default_rng(SEED)
    calibres = drawn_calibres(
        reflux.veins, scale_relative_sd=SCALE_RELATIVE_SD, draws=draws, generator=generator
    )
    unseen = unseen_conductances_mm3(
        reflux.candidates, prior_of(protocol), calibres.scale, generator
    )
    return np.concatenate([calibres.conductances_mm3, unseen])


def ours(reflux: RefluxNetwork, edges: Array) -> Array:
    """All draws through one order of removal."""
    open_, found = frozenset[str](), np.empty(edges.shape[1])
    known = len(reflux.veins)
    has_unseen = edges[known:].any(axis=0)
    for needs, rows in ((False, slice(known)), (True, slice(None))):
        these = np.flatnonzero(has_unseen == needs)
        reduction = reflux.reduction(open_, with_unseen=needs)
        for start in range(0, len(these), AT_ONCE):
            some = these[start : start + AT_ONCE]
            found[some] = conductance_of(reduction, edges[rows, some])
    return found


def plain(reflux: RefluxNetwork, edges: Array) -> Array:
    """One Laplacian after the other, each given to numpy.linalg.solve."""
    names = [(v.from_point, v.to_point) for v in reflux.veins]
    names += [(c.one, c.other) for c in reflux.candidates]
    a, b = np.array([[reflux.nodes[one], reflux.nodes[other]] for one, other in names]).T
    count = max(reflux.nodes.values()) + 1
    found = np.empty(edges.shape[1])
    for draw in range(edges.shape[1]):
        there = np.flatnonzero(edges[:, draw])
        one, other, g = a[there], b[there], edges[there, draw]
        laplacian = np.zeros((count, count))
        np.add.at(laplacian, (one, one), g)
        np.add.at(laplacian, (other, other), g)
        np.add.at(laplacian, (one, other), -g)
        np.add.at(laplacian, (other, one), -g)
        inner = slice(OUTFLOW + 1, None)
        potentials = np.linalg.solve(laplacian[inner, inner], -laplacian[inner, INFLOW])
        found[draw] = -laplacian[OUTFLOW, INFLOW] - laplacian[OUTFLOW, inner] @ potentials
    return found


def duel(reflux: RefluxNetwork, edges: Array, times: int) -> Duel:
    """Both on the same draws, turn by turn; medians."""
    ours_s, plain_s = [], []
    for _ in range(times):
        ours_s.append(seconds(lambda: ours(reflux, edges)))
        plain_s.append(seconds(lambda: plain(reflux, edges)))
    draws = edges.shape[1]
    return Duel(
        ours_per_s=draws / statistics.median(ours_s),
        plain_per_s=draws / statistics.median(plain_s),
        apart_relative=float(np.max(np.abs(ours(reflux, edges) / plain(reflux, edges) - 1.0))),
    )


def compare(network: VeinNetwork, protocol: Protocol, draws: int) -> None:
    """The whole comparison of two options."""
    compare_residual(
        network,
        {"one": frozenset({"v3", "v20"}), "two": frozenset({"v5", "v24", "v30"})},
        protocol,
        column=Column(length_mm=300.0, length_sd_mm=20.0, tilt_deg=90.0, projected=True),
        scale_relative_sd=SCALE_RELATIVE_SD,
        draws=draws,
        generator=np.random.default_rng(SEED),
    )


def seconds(work: Callable[[], object]) -> float:
    """How long one call takes."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def main() -> None:
    """Print a table in Markdown, and the time of the whole comparison."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--draws", type=int, default=10_000)
    parser.add_argument("--times", type=int, default=5)
    given = parser.parse_args()
    network, protocol = random_network(SEED), load_protocol()
    reflux = reflux_network(network, protocol.limit("unseen-channel-length-ratio").value)
    edges = drawn_edges(reflux, protocol, given.draws)
    known = edges.copy()
    known[len(reflux.veins) :] = 0.0
    print("| | draws/s | plain, draws/s | ratio | largest relative difference |")
    print("|---|---|---|---|---|")
    for name, some in (("known veins alone", known), ("with unseen channels", edges)):
        found = duel(reflux, some, given.times)
        print(
            f"| {name} | {found.ours_per_s:.0f} | {found.plain_per_s:.0f} | {found.ratio:.1f} "
            f"| {found.apart_relative:.0e} |"
        )
    whole_s = [seconds(lambda: compare(network, protocol, given.draws)) for _ in range(given.times)]
    print(f"\nwhole comparison: {statistics.median(whole_s):.2f} s for {given.draws} draws")


if __name__ == "__main__":
    main()
