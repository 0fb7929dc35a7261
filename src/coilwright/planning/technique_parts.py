"""Each technique worked out on one case: what it shuts, fills, leaves in the vein and needs."""

from collections.abc import Callable
from dataclasses import dataclass

from coilwright.advice import Advisory
from coilwright.kit import Adhesive, Microcatheter, Ways
from coilwright.planning.landing_zones import Stretch
from coilwright.planning.next_options import dead_space_ml
from coilwright.planning.ostium_limits import ostium_limits
from coilwright.planning.plan import Level
from coilwright.planning.plan_network import NoNetwork, PlanNetwork, ostium_mm
from coilwright.planning.sclerosant_figure import SclerosantFigure
from coilwright.planning.sclerosant_volume import vein_between
from coilwright.planning.technique_goods import (
    device_goods,
    ends_alone,
    migration_of,
    no_implant,
    no_volume,
    nothing_placed,
    volume_of,
    with_sclerosant,
)
from coilwright.planning.technique_table import Goods, Migration, Volume
from coilwright.planning.technique_veins import (
    Shut,
    between,
    shut_between,
    shut_by_coils,
    shut_by_sclerosant,
)
from coilwright.planning.trunk_course import project_onto
from coilwright.protocol import Protocol
from coilwright.veins import VeinMap, Vessel

COMPRESSION = (
    "Needed: compression at the ring, by a device or by the patient, or a balloon, before the "
    "injection starts; never the operator's hand in the beam."
)
NO_COMPRESSION = "Not needed by this technique."
ADHESIVE_COMPRESSION = "Not stated here: by the label and the local habit."


@dataclass(frozen=True, slots=True, kw_only=True)
class TechniqueBench:
    """What the techniques are worked out from; ``advisories`` are those of the assessment."""

    vein_map: VeinMap
    trunk: Vessel
    protocol: Protocol
    ways: Ways
    levels: tuple[Level, ...]
    network: PlanNetwork | NoNetwork
    advisories: tuple[Advisory, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Parts:
    """What differs from one technique to the next; ``shut`` null where it is not worked out."""

    shut: Shut | None
    migration: Migration
    volume: Volume
    goods: Goods
    compression_needed: bool
    compression_text: str


def filled_alone(vein_map: VeinMap, trunk: Vessel, protocol: Protocol) -> Stretch | None:
    """The trunk that sclerosant alone fills: from the tip down to the compressed ring.

    It begins no nearer to the ostium than an upper level may, and ends no lower than the superior
    ramus. Null where the ostium, or both ring and ramus, are not marked.
    """
    start_mm = ostium_mm(vein_map, trunk)
    marks = (vein_map.landmarks.internal_ring, vein_map.landmarks.superior_ramus_edge)
    scale = vein_map.calibration.mm_per_pixel
    lower = [project_onto(trunk, m.point_px, mm_per_pixel=scale).arc_mm for m in marks if m]
    if start_mm is None or not lower:
        return None
    from_mm = max(
        start_mm + ostium_limits(vein_map.side, protocol).nearest.value,
        trunk.arc_mm[0],
    )
    tip_px = vein_map.catheter.tip_px
    if tip_px is not None and vein_map.catheter.in_vessel == trunk.id:
        from_mm = max(from_mm, project_onto(trunk, tip_px, mm_per_pixel=scale).arc_mm)
    to_mm = min(*lower, trunk.arc_mm[-1])
    return Stretch(from_mm=from_mm, to_mm=to_mm) if to_mm > from_mm else None


def coils(bench: TechniqueBench) -> Parts:
    """Coils or plugs at every level."""
    return Parts(
        shut=_shut(bench, lambda network: shut_by_coils(network, bench.levels)),
        migration=migration_of(bench.levels),
        volume=no_volume(),
        goods=device_goods(bench.levels),
        compression_needed=False,
        compression_text=NO_COMPRESSION,
    )


def coils_and_sclerosant(bench: TechniqueBench) -> Parts:
    """Coils at the distal and the upper level, sclerosant between them."""
    stretch, ends = between(bench.levels), ends_alone(bench.levels)
    why = "a distal and an upper level are needed, with a calibre measured between them"
    volume = volume_of(_figure(bench, stretch), bench.advisories, why_none=why)
    goods = with_sclerosant(device_goods(ends), bench.ways.usable.sclerosants, volume)
    return Parts(
        shut=_shut(bench, lambda network: shut_between(network, bench.levels)),
        migration=migration_of(ends),
        volume=volume,
        goods=goods,
        compression_needed=True,
        compression_text=COMPRESSION,
    )


def sclerosant(bench: TechniqueBench) -> Parts:
    """Sclerosant from the tip down to the compressed ring."""
    stretch = filled_alone(bench.vein_map, bench.trunk, bench.protocol)
    why = "ostium and ring or superior ramus have to be marked, with a calibre between them"
    figure = _figure(bench, stretch, what="The vein from the tip to the ring")
    volume = volume_of(figure, bench.advisories, why_none=why)
    unknown = Shut(veins=frozenset(), known=False, against=(why,))
    return Parts(
        shut=_shut(
            bench,
            lambda network: unknown if stretch is None else shut_by_sclerosant(network, stretch),
        ),
        migration=nothing_placed(),
        volume=volume,
        goods=with_sclerosant(no_implant(), bench.ways.usable.sclerosants, volume),
        compression_needed=True,
        compression_text=COMPRESSION,
    )


def adhesive(bench: TechniqueBench) -> Parts:
    """Facts alone: what its label says it is mixed with, and the dead space it runs through."""
    vials = bench.ways.usable.adhesives
    tubes = [tube for tube in bench.ways.lumens if isinstance(tube, Microcatheter)]
    spaces = [
        f"{tube.name}: " + ("not on its label" if space is None else f"{space:.2f} mL")
        for tube in tubes
        for space in (dead_space_ml(tube),)
    ]
    text = (
        f"{'; '.join(map(_mixed, vials))}. Dead space of the microcatheter, hub not included: "
        f"{', '.join(spaces) or 'no microcatheter that a catheter of the shelf takes'}. "
        "How much is injected is not worked out here."
    )
    return Parts(
        shut=None,
        migration=Migration(
            worst_undersized=None,
            any_undersized=None,
            text="no device; adhesive that does not set in place can travel: not worked out",
        ),
        volume=Volume(needed=False, figure=None, ceilings=(), text=text),
        goods=Goods(
            implants=0,
            implants_text="no coil or plug; the adhesive itself stays",
            cost=None,
            cost_text="not known: how many vials are used is not worked out",
        ),
        compression_needed=False,
        compression_text=ADHESIVE_COMPRESSION,
    )


def _mixed(vial: Adhesive) -> str:
    mixed = "its label names nothing to mix it with"
    if vial.mixed_with is not None:
        mixed = f"mixed with {vial.mixed_with} by its label"
    return f"{vial.name} ({vial.substance}): {mixed}; the ratio stands on the label, not in the kit"


def _shut(bench: TechniqueBench, work: Callable[[PlanNetwork], Shut]) -> Shut | None:
    return None if isinstance(bench.network, NoNetwork) else work(bench.network)


def _figure(
    bench: TechniqueBench, stretch: Stretch | None, *, what: str = "The vein between the levels"
) -> SclerosantFigure | None:
    if stretch is None:
        return None
    calibration = bench.vein_map.calibration
    ends_mm = (stretch.from_mm, stretch.to_mm)
    return vein_between(bench.trunk, *ends_mm, calibration, bench.protocol, what=what)
