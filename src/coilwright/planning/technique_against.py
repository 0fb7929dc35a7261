"""What speaks against a technique here: stops of the assessment, allergies, ceilings, reach."""

from collections.abc import Iterator, Sequence

from coilwright.advice import Advisory, Urgency
from coilwright.planning.technique_goods import upper_ml
from coilwright.planning.technique_table import SpeaksAgainst, Technique, Volume
from coilwright.planning.technique_veins import Shut

# The assessment's rules that are read here, by their stable ids.
COMPRESSION = "renal-vein-compression"
ALLERGIES = "known-allergy"
SCLEROSANT_CAUTIONS = "sclerosant-cautions"

METAL = (Technique.COILS_ALONE, Technique.COILS_AND_SCLEROSANT)
SCLEROSING = (Technique.COILS_AND_SCLEROSANT, Technique.SCLEROSANT_ALONE)


def against(
    technique: Technique, shut: Shut | None, volume: Volume, advisories: Sequence[Advisory]
) -> tuple[SpeaksAgainst, ...]:
    """Every reason against a technique that the assessment, the shelf or the network gives."""
    here = [] if shut is None else [SpeaksAgainst(text=text, rule=None) for text in shut.against]
    return (
        *_compression(advisories),
        *(_metal(advisories) if technique in METAL else ()),
        *(_sclerosant(advisories) if technique in SCLEROSING else ()),
        *_volume(volume),
        *here,
    )


def _compression(advisories: Sequence[Advisory]) -> Iterator[SpeaksAgainst]:
    """Whatever closes the vein closes the kidney's way out too."""
    for one in advisories:
        if one.rule == COMPRESSION and one.urgency is Urgency.STOP_AND_THINK:
            yield SpeaksAgainst(text=one.text, rule=one.rule)


def _metal(advisories: Sequence[Advisory]) -> Iterator[SpeaksAgainst]:
    for one in advisories:
        if one.rule == ALLERGIES and one.inputs.get("metal") == "yes":
            yield SpeaksAgainst(text="allergy to metal is recorded", rule=one.rule)


def _sclerosant(advisories: Sequence[Advisory]) -> Iterator[SpeaksAgainst]:
    """What is recorded, and what nobody has asked; without the rule, that nothing was asked."""
    found = [one for one in advisories if one.rule == SCLEROSANT_CAUTIONS]
    if not found:
        text = "the leaflets' cautions were not gone through: the case names no sclerosant"
        yield SpeaksAgainst(text=text, rule=None)
    for one in found:
        present = [name for name, answer in one.inputs.items() if answer == "yes"]
        unasked = [name for name, answer in one.inputs.items() if answer == "not recorded"]
        if present:
            yield SpeaksAgainst(text=f"recorded: {', '.join(present)}", rule=one.rule)
        if unasked:
            yield SpeaksAgainst(text=f"not recorded: {', '.join(unasked)}", rule=one.rule)


def _volume(volume: Volume) -> Iterator[SpeaksAgainst]:
    if volume.figure is None:
        return
    for ceiling in volume.ceilings:
        if ceiling.left_ml is not None and upper_ml(volume.figure) > ceiling.left_ml:
            text = f"the upper figure of the vein is more than is left below {ceiling.text}"
            yield SpeaksAgainst(text=text, rule=ceiling.rule)
