"""How much sclerosant, by the label that the site follows, and who should not have foam.

No sclerosant is licensed for the gonadal vein; every ceiling here says so.
"""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import SclerosantDrug
from coilwright.assessment.polidocanol import (
    JOINT_RULE,
    LEAFLETS,
    MICROFOAM_RULE,
    POLIDOCANOL_MASS_RULE,
    POLIDOCANOL_VOLUME_RULE,
    polidocanol_totals,
)
from coilwright.assessment.sclerosant_foam import (
    FOAM_GUIDELINE_RULE,
    FOAM_RATIO_RULE,
    sclerosant_foam,
)
from coilwright.assessment.tetradecyl import STS_INJECTION_RULE, STS_RULE, tetradecyl_totals
from coilwright.protocol import COMMON_PRACTICE, Protocol, advise

__all__ = [
    "CAUTIONS_RULE",
    "CONTRAST_DOSE_RULE",
    "FOAM_GUIDELINE_RULE",
    "FOAM_RATIO_RULE",
    "JOINT_RULE",
    "MICROFOAM_RULE",
    "POLIDOCANOL_MASS_RULE",
    "POLIDOCANOL_VOLUME_RULE",
    "STS_INJECTION_RULE",
    "STS_RULE",
    "sclerosant_totals",
]

CAUTIONS_RULE = "sclerosant-cautions"
CONTRAST_DOSE_RULE = "sclerosant-dose-by-contrast"


def sclerosant_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Ceilings of every drug that the case names; nothing where it names none."""
    drugs = {dose.drug for dose in facts.given.sclerosant}
    if facts.sclerosant is not None:
        drugs.add(facts.sclerosant.drug)
    if not drugs:
        return ()
    sts = tetradecyl_totals(facts, protocol) if SclerosantDrug.STS in drugs else ()
    polidocanol = SclerosantDrug.POLIDOCANOL in drugs
    return (
        *sts,
        *(polidocanol_totals(facts, protocol) if polidocanol else ()),
        *sclerosant_foam(facts, protocol),
        _dose_by_contrast(),
        _cautions(facts),
    )


def _dose_by_contrast() -> Advisory:
    """REVIEW: the computed volume of the vein is an upper sanity figure, never the dose."""
    return advise(
        rule=CONTRAST_DOSE_RULE,
        urgency=Urgency.INFO,
        text="The dose of sclerosant is the volume of contrast that was seen to fill down to the "
        "compressed ring without spill; a volume computed from the vein's size is only an upper "
        "sanity figure. Compression at the ring starts before the injection, by a device or by "
        "the patient, never by the operator's hand in the beam.",
        basis=(COMMON_PRACTICE,),
    )


def _cautions(facts: Facts) -> Advisory:
    conditions = facts.conditions
    asked = {
        "right-to-left shunt": conditions.right_to_left_shunt,
        "stroke or TIA": conditions.stroke_or_tia,
        "migraine": conditions.migraine,
        "pulmonary hypertension": conditions.pulmonary_hypertension,
        "high risk of thrombosis": conditions.thrombosis_risk,
        "allergy to the sclerosant": facts.allergies.sclerosant,
    }
    present = [name for name, answer in asked.items() if answer]
    unasked = [name for name, answer in asked.items() if answer is None]
    parts = [f"Recorded: {', '.join(present)}." if present else ""]
    parts.append(f"Not recorded: {', '.join(unasked)}." if unasked else "")
    words = " ".join(filter(None, parts)) or "None of the leaflets' cautions is recorded."
    return advise(
        rule=CAUTIONS_RULE,
        urgency=_cautions_urgency(present, unasked),
        text=f"Cautions for sclerosant, above all as foam. {words}",
        basis=(LEAFLETS,),
        inputs={name: said(answer) for name, answer in asked.items()},
        missing=unasked,
    )


def _cautions_urgency(present: list[str], unasked: list[str]) -> Urgency:
    if present:
        return Urgency.STOP_AND_THINK
    return Urgency.CAUTION if unasked else Urgency.INFO
