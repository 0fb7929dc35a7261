"""The network that a plan is judged on: the map's, with what is to be shut cut out of the trunk.

The undivided network is that of the map and the operator's marks. For the plan the trunk is cut at
the ends of every stretch that something closes, so that each is a piece that can be shut alone.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from coilwright.kit import Catheter, Microcatheter, Ways
from coilwright.planning.divided_vein import divided
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.map_network import MapNetwork, map_network
from coilwright.planning.map_points import SAME_PLACE_MM
from coilwright.planning.marks_fit import MarksDoNotFit
from coilwright.planning.network_marks import NetworkMarks, Place
from coilwright.planning.trunk_course import project_onto
from coilwright.units import fr_to_mm
from coilwright.veins import VeinMap, Vessel
from coilwright.veins.vein_network import (
    NetworkVein,
    PointKind,
    VeinNetwork,
    joined_to,
)

# Widths are told to a hundredth of a millimetre: nearer ones read alike.
_SAME_WIDTH_MM = 0.005
INFLOW_NOT_SHOWN = (
    "the ostium is not on the map, so where blood enters is not known. Not shown: inject the renal "
    "vein with Valsalva, or mark the ostium on the raw frame"
)
NO_TRUNK = "the map shows no main gonadal vein"
NO_WIDTH = (
    "no catheter on the shelf has a labelled outer diameter, so what passes the veins is not known"
)
NOBODY_MARKED = (
    "Nobody has marked where the veins lead (no network marks): free ends of side veins were taken "
    "to lead nowhere, and no vein as one that must stay open."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class NoNetwork:
    """Why the map does not allow a network, and what would."""

    why: str
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanNetwork:
    """The map's network as it is and cut for the plan.

    ``trunk_arcs_mm`` holds the two arcs of every piece of the trunk in ``network``, by its id, and
    ``undivided_arcs_mm`` of those in ``undivided``.
    """

    undivided: VeinNetwork
    undivided_arcs_mm: Mapping[str, tuple[float, float]]
    network: VeinNetwork
    trunk_arcs_mm: Mapping[str, tuple[float, float]]
    assumptions: tuple[str, ...]

    @property
    def shows_a_pathway(self) -> bool:
        """Whether any way joins an inflow to an outflow before anything is closed."""
        return bool(joined_to(self.network.inflows, self.network.veins) & self.network.outflows)

    def pieces_in(self, stretch: Stretch) -> frozenset[str]:
        """The pieces of the trunk that lie in a stretch, as far as it was seen."""
        return frozenset(
            piece
            for piece, (from_mm, to_mm) in self.trunk_arcs_mm.items()
            if stretch.from_mm <= (from_mm + to_mm) / 2.0 <= stretch.to_mm
        )

    def vein(self, id: str) -> NetworkVein:
        """The vein with this id; KeyError if there is none."""
        for vein in self.network.veins:
            if vein.id == id:
                return vein
        raise KeyError(id)

    def may_close(self, ids: Iterable[str]) -> frozenset[str]:
        """Those of the veins that need not stay open."""
        wanted = set(ids)
        return frozenset(v.id for v in self.network.veins if v.id in wanted and v.may_occlude)


def smallest_tube(ways: Ways) -> Catheter | Microcatheter | None:
    """The narrowest device that gets to the vein: by its widest shaft, carried by what it needs.

    Null where no label on the shelf gives an outer diameter.

    References
    ----------
    Practitioner's review, truth and safety 4: a microcatheter counts; 9: its widest shaft.
    """
    known = [tube for tube in ways.lumens if tube.outer_fr is not None]
    return min(known, key=lambda tube: (tube.outer_fr or math.inf, tube.id), default=None)


def plan_network(
    vein_map: VeinMap,
    marks: NetworkMarks | None,
    ways: Ways,
    stretches: Iterable[Stretch],
) -> PlanNetwork | NoNetwork:
    """The network of a map with each of ``stretches`` of the trunk as pieces of its own.

    Without marks the catheter enters at the ostium and no far end is said to lead anywhere.

    Raises
    ------
    MarksDoNotFit
        A mark names what the map does not have. What the map itself lacks is a ``NoNetwork``.
    """
    trunk = vein_map.trunk
    if trunk is None:
        return NoNetwork(why=NO_TRUNK, missing=("the trunk on the vein map",))
    if vein_map.landmarks.ostium is None and not _says_inflow(marks):
        return NoNetwork(why=INFLOW_NOT_SHOWN, missing=("ostium (landmarks.ostium)",))
    assumed: list[str] = []
    outer_mm = _outer_mm(ways, marks, assumed)
    if outer_mm is None:
        return NoNetwork(why=NO_WIDTH, missing=("outer_fr of a catheter on the shelf",))
    if marks is None:
        assumed.append(NOBODY_MARKED)
    known = _marks(vein_map, trunk, marks, outer_mm)
    try:
        made = map_network(vein_map, known)
    except MarksDoNotFit as error:
        if marks is not None and not error.of_map:
            raise
        why = f"{error.problem.field}: {error.problem.found} ({error.problem.mend})"
        return NoNetwork(why=why, missing=(error.problem.field,))
    network, arcs_mm = _cut(made, trunk.id, stretches)
    return PlanNetwork(
        undivided=made.network,
        undivided_arcs_mm=made.trunk_arcs_mm,
        network=network,
        trunk_arcs_mm=arcs_mm,
        assumptions=(*assumed, *made.assumptions),
    )


def _says_inflow(marks: NetworkMarks | None) -> bool:
    """Whether the operator has said where blood enters; the kinds themselves are checked later."""
    if marks is None:
        return False
    ends = [end for one in marks.channels for end in (one.from_place, one.to_place)]
    said = [one.kind for one in marks.far_ends]
    said += [end.kind for end in ends if not isinstance(end, Place)]
    return PointKind.INFLOW in said


def _outer_mm(ways: Ways, marks: NetworkMarks | None, assumed: list[str]) -> float | None:
    """The shelf's smallest, else the marks' own figure; where they differ that is said."""
    tube = smallest_tube(ways)
    stated_mm = None if marks is None else marks.outer_diameter_mm
    if tube is None or tube.outer_fr is None:
        if stated_mm is not None:
            assumed.append(
                f"No label on the shelf gives an outer diameter: what passes was judged by the "
                f"{stated_mm:.2f} mm of the marks."
            )
        return stated_mm
    outer_mm = fr_to_mm(tube.outer_fr)
    words = f"{tube.name}, {tube.outer_fr:g} F ({outer_mm:.2f} mm) at its widest shaft"
    differs = ""
    if stated_mm is not None and abs(stated_mm - outer_mm) >= _SAME_WIDTH_MM:
        differs = f"; the marks say {stated_mm:.2f} mm, which was not used"
    assumed.append(f"What passes was judged by the smallest device on the shelf: {words}{differs}.")
    return outer_mm


def _marks(
    vein_map: VeinMap, trunk: Vessel, marks: NetworkMarks | None, outer_mm: float
) -> NetworkMarks:
    if marks is not None:
        return replace(marks, outer_diameter_mm=outer_mm)
    arc_mm = ostium_mm(vein_map, trunk)
    at_mm = trunk.arc_mm[0] if arc_mm is None else arc_mm
    return NetworkMarks(enters=Place(vessel=trunk.id, at_mm=at_mm), outer_diameter_mm=outer_mm)


def ostium_mm(vein_map: VeinMap, trunk: Vessel) -> float | None:
    """The arc of the ostium on the trunk; null where it is not marked."""
    mark = vein_map.landmarks.ostium
    if mark is None:
        return None
    scale = vein_map.calibration.mm_per_pixel
    return project_onto(trunk, mark.point_px, mm_per_pixel=scale).arc_mm


def _cut(
    made: MapNetwork, trunk_id: str, stretches: Iterable[Stretch]
) -> tuple[VeinNetwork, dict[str, tuple[float, float]]]:
    """The network with the trunk cut at both ends of every stretch, and its pieces' arcs."""
    wanted = sorted({at for one in stretches for at in (one.from_mm, one.to_mm)})
    network = made.network
    arcs_mm: dict[str, tuple[float, float]] = {}
    for piece, (from_mm, to_mm) in made.trunk_arcs_mm.items():
        cuts = _inside(wanted, from_mm, to_mm)
        if not cuts:
            arcs_mm[piece] = (from_mm, to_mm)
            continue
        network = divided(network, piece, [cut - from_mm for cut in cuts])
        # A point is named by its place on the trunk, as those of the map are.
        taken = {point.id for point in network.points}
        names = {f"{piece}@{cut - from_mm:g}": f"{trunk_id}@{cut:.1f}" for cut in cuts}
        names = {old: new for old, new in names.items() if new not in taken}
        network = _renamed(network, names)
        ends = [from_mm, *cuts, to_mm]
        arcs_mm |= {
            f"{piece}/{number}": (ends[number - 1], ends[number]) for number in range(1, len(ends))
        }
    return network, arcs_mm


def _renamed(network: VeinNetwork, names: Mapping[str, str]) -> VeinNetwork:
    """The network with points under other names."""
    return replace(
        network,
        points=tuple(replace(point, id=names.get(point.id, point.id)) for point in network.points),
        veins=tuple(
            replace(
                vein,
                from_point=names.get(vein.from_point, vein.from_point),
                to_point=names.get(vein.to_point, vein.to_point),
            )
            for vein in network.veins
        ),
    )


def _inside(wanted: list[float], from_mm: float, to_mm: float) -> list[float]:
    """The cuts well inside a piece: nearer to another than a sample is no place of its own."""
    cuts: list[float] = []
    for at_mm in wanted:
        before = cuts[-1] if cuts else from_mm
        if at_mm - before > SAME_PLACE_MM and to_mm - at_mm > SAME_PLACE_MM:
            cuts.append(at_mm)
    return cuts
