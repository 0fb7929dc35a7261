"""A planned case: the folded case with its map, the map's picture, the plan and its limits."""

from dataclasses import dataclass

from coilwright.planning import OcclusionPlan, PullList
from coilwright.protocol import Protocol
from coilwright.record import Case
from coilwright.veins import Side, VeinMap


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCase:
    """``vein_map`` and ``map_picture`` (PNG) are null where no run has arrived.

    ``pull_list`` is what to lay out for the plan. ``protocol`` holds the limits in force when the
    plan was made; ``assessed`` is how many of the plan's advisories, from the first, are of the
    assessment of the case. ``side`` is the one that was asked for, of a case of both.
    """

    case: Case
    vein_map: VeinMap | None
    map_picture: bytes | None
    plan: OcclusionPlan
    pull_list: PullList
    protocol: Protocol
    assessed: int
    side: Side | None = None
