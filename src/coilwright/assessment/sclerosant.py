"""How much sclerosant, by the label that the site follows, and who needs thought before foam.

No sclerosant is licensed for the gonadal vein; every ceiling here says so.
"""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
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
CHILD_LIMIT = "adolescent-age-below"
_WAYS_TO_THE_BRAIN = ("right-to-left shunt", "stroke or TIA")
_KEYS = {
    "right-to-left shunt": "conditions.right_to_left_shunt",
    "stroke or TIA": "conditions.stroke_or_tia",
    "migraine": "conditions.migraine",
    "pulmonary hypertension": "conditions.pulmonary_hypertension",
    "high risk of thrombosis": "conditions.thrombosis_risk",
    "allergy to the sclerosant": "allergies.sclerosant",
}


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
        _cautions(facts, protocol),
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


def _cautions(facts: Facts, protocol: Protocol) -> Advisory:
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
    missing = [_KEYS[name] for name in unasked]
    parts = [f"Recorded: {', '.join(present)}." if present else ""]
    parts.append(f"Not recorded: {', '.join(missing)}." if unasked else "")
    words = " ".join(filter(None, parts)) or "None of the leaflets' cautions is recorded."
    stop, child = _stop_words(present, facts), _child_words(facts, protocol)
    quiet = Urgency.CAUTION if present or unasked or child else Urgency.INFO
    own = (COMMON_PRACTICE,) if stop else ()
    return advise(
        rule=CAUTIONS_RULE,
        urgency=Urgency.STOP_AND_THINK if stop else quiet,
        text=" ".join(
            filter(None, (f"Cautions for sclerosant, above all as foam. {words}", *stop, child))
        ),
        basis=(LEAFLETS, *own, *((protocol.limit(CHILD_LIMIT),) if child else ())),
        inputs={name: said(answer) for name, answer in asked.items()},
        missing=missing,
    )


def _stop_words(present: list[str], facts: Facts) -> tuple[str, ...]:
    """What to think of first: gas with a way to the brain, or an allergy. The rest are cautions."""
    gas = [name for name in _WAYS_TO_THE_BRAIN if name in present and not _is_liquid(facts)]
    allergic = "allergy to the sclerosant" in present
    return (
        *(
            (f"With {' and '.join(gas)} think of liquid, or of coils alone, before foam.",)
            * bool(gas)
        ),
        *(("With the allergy think of another sclerosant, or of coils alone.",) * allergic),
    )


def _is_liquid(facts: Facts) -> bool:
    """Whether nothing but liquid is planned and given; a form nobody recorded may be foam."""
    doses, planned = facts.given.sclerosant, facts.sclerosant
    gas = any(dose.gas_ml > 0 or dose.microfoam_ml > 0 for dose in doses)
    return not gas and (bool(doses) if planned is None else planned.foam is False)


def _child_words(facts: Facts, protocol: Protocol) -> str:
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    if age is None or age >= protocol.limit(CHILD_LIMIT).value:
        return ""
    return f"The patient is {age}: no ceiling of a sclerosant held here was made for a child."
