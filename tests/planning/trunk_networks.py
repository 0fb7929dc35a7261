"""Marks and duplicates on the straight trunk, for tests of the plan's network."""

from dataclasses import replace
from datetime import UTC, datetime

from coilwright.planning import NetworkMarks
from coilwright.planning.network_marks import Place
from coilwright.veins import Join, OwnEnd, Vessel, VesselKind
from coilwright.veins.edits import Signed
from planning.straight_trunks import side_vein

SIGNED = Signed(by="Sorrel, A.", at=datetime(2026, 4, 20, 10, 0, tzinfo=UTC), why="seen")
MARKS = NetworkMarks(enters=Place(vessel="trunk", at_mm=0.0), outer_diameter_mm=0.9)


def duplicate(vessel_id: str, *, from_mm: float, to_mm: float) -> Vessel:
    """A channel of 0.5 mm length: what it joins is all that these tests look at."""
    leaves = side_vein(vessel_id, at_mm=from_mm)
    rejoins = Join(own_end=OwnEnd.END, vessel="trunk", at_mm=to_mm)
    return replace(leaves, kind=VesselKind.DUPLICATE, joins=(*leaves.joins, rejoins))
