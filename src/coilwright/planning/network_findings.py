"""The plan judged on the network: least closure, pathways left open, techniques side by side."""

from dataclasses import dataclass

from coilwright.advice import Advisory
from coilwright.kit import Ways
from coilwright.planning.least_closure import LeastClosure, least_closure
from coilwright.planning.network_marks import NetworkMarks
from coilwright.planning.pathways_left import PathwaysLeft
from coilwright.planning.plan import Level
from coilwright.planning.plan_network import NoNetwork, plan_network
from coilwright.planning.plan_pathways import (
    advise_no_network,
    advise_pathways,
    levels_leave_open,
)
from coilwright.planning.technique_advice import advise_techniques
from coilwright.planning.technique_parts import TechniqueBench, filled_alone
from coilwright.planning.technique_reflux import STANDING
from coilwright.planning.technique_table import TechniqueTable
from coilwright.planning.technique_veins import zone_of
from coilwright.planning.techniques import technique_table
from coilwright.protocol import Protocol
from coilwright.veins import VeinMap, Vessel


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkFindings:
    """What the network adds to a plan; ``least`` and ``left`` null where there is no network."""

    least: LeastClosure | None
    left: PathwaysLeft | None
    techniques: TechniqueTable
    advisories: tuple[Advisory, ...]
    assumptions: tuple[str, ...]


def network_findings(
    vein_map: VeinMap,
    trunk: Vessel,
    marks: NetworkMarks | None,
    ways: Ways,
    levels: tuple[Level, ...],
    advisories: tuple[Advisory, ...],
    protocol: Protocol,
) -> NetworkFindings:
    """Judge levels and techniques on the map's network.

    ``advisories`` are those of the assessment: ceilings, cautions and stops are read from them.

    Raises
    ------
    MarksDoNotFit
        A mark names what the map does not have.
    """
    filled = filled_alone(vein_map, trunk, protocol)
    stretches = [zone_of(level) for level in levels] + ([] if filled is None else [filled])
    network = plan_network(vein_map, marks, ways, stretches)
    table = technique_table(
        TechniqueBench(
            vein_map=vein_map,
            trunk=trunk,
            protocol=protocol,
            ways=ways,
            levels=levels,
            network=network,
            advisories=advisories,
        )
    )
    spoken = tuple(advise_techniques(table, protocol))
    if isinstance(network, NoNetwork):
        return NetworkFindings(
            least=None,
            left=None,
            techniques=table,
            advisories=(advise_no_network(network), *spoken),
            assumptions=(),
        )
    least = least_closure(network.undivided, network.assumptions)
    left = levels_leave_open(network, levels)
    return NetworkFindings(
        least=least,
        left=left,
        techniques=table,
        advisories=(*advise_pathways(network, least, left, levels), *spoken),
        assumptions=(*network.assumptions, STANDING),
    )
