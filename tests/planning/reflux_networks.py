"""Vein networks for the tests of residual reflux; the people and places are invented."""

from collections.abc import Iterable
from dataclasses import replace
from itertools import pairwise

import numpy as np

from coilwright.protocol import Protocol, load_protocol
from coilwright.veins.vein_network import (
    NetworkCatheter,
    NetworkPoint,
    NetworkVein,
    PointKind,
    VeinNetwork,
)

KINDS = {
    "renal": PointKind.INFLOW,
    "hilum": PointKind.INFLOW,
    "plexus": PointKind.OUTFLOW,
}
Row = tuple[str, str, str, float, float]

# Two ways in, a duplicate beside the lower trunk and a side vein past it: id, ends, length and
# diameter in mm. The pipe network of test_network_flow.py is the same.
TWO_WAYS_IN: tuple[Row, ...] = (
    ("ostium", "renal", "upper", 30, 5.0),
    ("hilar", "hilum", "upper", 60, 2.0),
    ("trunk-1", "upper", "middle", 80, 4.5),
    ("trunk-2", "middle", "ring", 100, 4.0),
    ("double", "upper", "ring", 200, 2.5),
    ("side", "middle", "plexus", 180, 1.5),
    ("last", "ring", "plexus", 60, 3.5),
)


def network_of(rows: Iterable[Row], *, relative_sd: float = 0.0) -> VeinNetwork:
    """A network of rows; a point is a junction unless its name says otherwise."""
    rows = tuple(rows)
    names = dict.fromkeys(end for row in rows for end in row[1:3])
    return VeinNetwork(
        points=tuple(NetworkPoint(id=n, kind=KINDS.get(n, PointKind.JUNCTION)) for n in names),
        veins=tuple(
            NetworkVein(
                id=id,
                from_point=a,
                to_point=b,
                length_mm=length_mm,
                diameter_mm=diameter_mm,
                diameter_sd_mm=relative_sd * diameter_mm,
                may_occlude=True,
            )
            for id, a, b, length_mm, diameter_mm in rows
        ),
        catheter=NetworkCatheter(enters_at="renal", outer_diameter_mm=1.0),
    )


def random_network(seed: int, *, inner: int, veins: int, relative_sd: float = 0.1) -> VeinNetwork:
    """A chain from inflow to outflow with further veins between any two of its points."""
    rng = np.random.default_rng(seed)
    names = ["renal", *(f"p{number}" for number in range(inner)), "plexus"]
    ends = list(pairwise(names))
    while len(ends) < veins:
        a, b = rng.choice(len(names), 2, replace=False)
        ends.append((names[a], names[b]))
    lengths_mm, diameters_mm = rng.uniform(20, 150, veins), rng.uniform(0.5, 8, veins)
    return network_of(
        (
            (f"v{number}", a, b, float(lengths_mm[number]), float(diameters_mm[number]))
            for number, (a, b) in enumerate(ends)
        ),
        relative_sd=relative_sd,
    )


def protocol_with(**values: float) -> Protocol:
    """The shipped limits with other values; an id's hyphens are written as underscores."""
    protocol = load_protocol()
    changed = {id.replace("_", "-"): value for id, value in values.items()}
    return replace(
        protocol,
        limits={
            id: replace(limit, value=changed.get(id, limit.value))
            for id, limit in protocol.limits.items()
        },
    )
