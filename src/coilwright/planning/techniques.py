"""Techniques beside each other on one case: closure, migration, reflux, volume, implants, cost.

None of them is the best; the site's choice is marked.
"""

from collections.abc import Mapping

from coilwright.planning.plan import LevelName
from coilwright.planning.plan_network import NoNetwork
from coilwright.planning.technique_against import against
from coilwright.planning.technique_parts import (
    Parts,
    TechniqueBench,
    adhesive,
    coils,
    coils_and_sclerosant,
    sclerosant,
)
from coilwright.planning.technique_reflux import (
    DRAWS,
    NOT_WORKED_OUT,
    SEED,
    TechniqueReflux,
    residual_words,
    technique_reflux,
)
from coilwright.planning.technique_table import (
    PublishedRecurrence,
    Technique,
    TechniqueRow,
    TechniqueTable,
)
from coilwright.planning.technique_veins import closure_of, zone_of
from coilwright.protocol import Protocol

CHOICE = "closing-technique"
TITLES = {
    Technique.COILS_ALONE: "coils alone",
    Technique.COILS_AND_SCLEROSANT: "coils with sclerosant between two levels",
    Technique.SCLEROSANT_ALONE: "sclerosant alone",
    Technique.LIQUID_ADHESIVE: "liquid adhesive",
}
PUBLISHED = {
    Technique.COILS_ALONE: "consent-recurrence-coils",
    Technique.COILS_AND_SCLEROSANT: "consent-recurrence-coils-and-sclerosant",
    Technique.SCLEROSANT_ALONE: "consent-recurrence-sclerosant",
    Technique.LIQUID_ADHESIVE: "consent-recurrence-glue",
}
NONE_IS_BEST = (
    "Techniques beside each other; none is called the best. Published recurrence is that of groups "
    "with unlike follow-up: no prediction for this patient. Bands compare options alone."
)


def technique_table(bench: TechniqueBench) -> TechniqueTable:
    """One row for each technique that a site may choose, and for adhesive where the kit has it.

    The draws of residual reflux are ``DRAWS`` from the seed ``SEED``: the same case gives the
    same table.
    """
    parts = {
        Technique.COILS_ALONE: coils(bench),
        Technique.COILS_AND_SCLEROSANT: coils_and_sclerosant(bench),
        Technique.SCLEROSANT_ALONE: sclerosant(bench),
    }
    if bench.ways.usable.adhesives:
        parts[Technique.LIQUID_ADHESIVE] = adhesive(bench)
    reflux = _reflux(bench, parts)
    choice = bench.protocol.choice(CHOICE)
    chosen = Technique(choice.value)
    unsigned = "" if choice.stands else " The choice is not signed off by the site."
    return TechniqueTable(
        rows=tuple(_row(bench, one, parts[one], reflux, chosen) for one in parts),
        chosen=chosen,
        text=f"The site's choice: {TITLES[chosen]}.{unsigned} {NONE_IS_BEST}",
        pairs=() if reflux is None else reflux.comparison.pairs,
        look_here=() if reflux is None else reflux.look_here(chosen),
        draws=None if reflux is None else DRAWS,
        seed=None if reflux is None else SEED,
        advisories=() if reflux is None else reflux.advisories,
    )


def _reflux(bench: TechniqueBench, parts: Mapping[Technique, Parts]) -> TechniqueReflux | None:
    if isinstance(bench.network, NoNetwork):
        return None
    shut = {
        one: part.shut.veins
        for one, part in parts.items()
        if part.shut is not None and part.shut.known
    }
    distal = next((zone_of(one) for one in bench.levels if one.name is LevelName.DISTAL), None)
    return technique_reflux(
        bench.vein_map, bench.trunk, bench.network, distal, shut, bench.protocol
    )


def _row(
    bench: TechniqueBench,
    technique: Technique,
    parts: Parts,
    reflux: TechniqueReflux | None,
    chosen: Technique,
) -> TechniqueRow:
    bands = () if reflux is None else reflux.bands(technique)
    return TechniqueRow(
        technique=technique,
        title=TITLES[technique],
        chosen=technique is chosen,
        closure=closure_of(technique, bench.network, parts.shut),
        migration=parts.migration,
        residual=bands,
        residual_text=residual_words(bands) if bands else NOT_WORKED_OUT,
        volume=parts.volume,
        goods=parts.goods,
        compression_needed=parts.compression_needed,
        compression_text=parts.compression_text,
        published=_published(technique, bench.protocol),
        against=against(technique, parts.shut, parts.volume, bench.advisories),
    )


def _published(technique: Technique, protocol: Protocol) -> PublishedRecurrence:
    """The published figure with those treated and followed; the site's own says that it is."""
    limit = protocol.limit(PUBLISHED[technique])
    note = limit.note if limit.overridden is None else "a number that the site put here"
    text = f"{limit.title}: {limit.value:g} %" + (f" ({note})" if note else "")
    return PublishedRecurrence(
        percent=limit.value,
        text=f"{text}. Of a published group: no prediction for this patient.",
        source=limit.source,
        status=limit.status,
    )
