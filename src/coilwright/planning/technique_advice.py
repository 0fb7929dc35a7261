"""What is said of the technique that the site chose, and of sclerosant between the levels."""

from collections.abc import Iterator

from coilwright.advice import Advisory, Urgency
from coilwright.planning.plan_pathways import FROM_THE_NETWORK
from coilwright.planning.sclerosant_figure import SclerosantFigure
from coilwright.planning.technique_goods import SURE_SD
from coilwright.planning.technique_table import Technique, TechniqueTable, Volume
from coilwright.protocol import COMMON_PRACTICE, Protocol, advise

FIRST_CONTRAST = (
    "As foam or as liquid: a test injection of contrast comes first. The dose is the contrast "
    "volume seen to fill to the compressed ring without spill, never the computed volume. "
    "Compression at the ring, by a device or by the patient, or a balloon, is in place before the "
    "injection starts; never the operator's hand in the beam."
)


def advise_techniques(table: TechniqueTable, protocol: Protocol) -> Iterator[Advisory]:
    """What is said of the choice of technique, and of sclerosant where a row fills the vein."""
    choice = protocol.choice("closing-technique")
    yield advise(
        rule="technique-chosen",
        urgency=Urgency.INFO,
        text=table.text,
        basis=(choice,),
        judges=False,
    )
    row = table.row(Technique.COILS_AND_SCLEROSANT)
    if row is not None and row.volume.figure is not None:
        yield _between(row.volume, row.volume.figure, protocol)


def _between(volume: Volume, figure: SclerosantFigure, protocol: Protocol) -> Advisory:
    spread_ml = SURE_SD * figure.sd_ml
    ceilings = {one.rule: one.text for one in volume.ceilings}
    return advise(
        rule="sclerosant-between-levels",
        urgency=Urgency.INFO,
        text=f"{FIRST_CONTRAST} {volume.text}",
        basis=(FROM_THE_NETWORK, COMMON_PRACTICE, protocol.limit("calibre-known-share-min")),
        value=figure.volume_ml,
        between=(max(0.0, figure.volume_ml - spread_ml), figure.volume_ml + spread_ml),
        unit="mL",
        inputs={"from": f"{figure.from_mm:.0f} mm", "to": f"{figure.to_mm:.0f} mm", **ceilings},
        judges=False,
    )
