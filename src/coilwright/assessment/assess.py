"""Everything that can be said of one case before and around the catheter, loudest first."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.allergies import known_allergies
from coilwright.assessment.bleeding import bleeding_risk
from coilwright.assessment.bloods_age import bloods_age
from coilwright.assessment.contrast import contrast_ceilings
from coilwright.assessment.contrast_kidney import contrast_and_kidney
from coilwright.assessment.facts import Facts
from coilwright.assessment.kidney import kidney_function
from coilwright.assessment.local_anaesthetic import lidocaine_totals
from coilwright.assessment.radiation import radiation_levels
from coilwright.assessment.red_flags import red_flags
from coilwright.assessment.renal_vein import renal_vein_compression
from coilwright.assessment.sclerosant import sclerosant_totals
from coilwright.assessment.semen import semen_analysis
from coilwright.assessment.side_gate import side_agreement
from coilwright.assessment.spasm_drugs import nitrate_question
from coilwright.assessment.testis import testis_size
from coilwright.protocol import Protocol

_LOUDEST_FIRST = (Urgency.STOP_AND_THINK, Urgency.CAUTION, Urgency.INFO)


def assess(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Every advisory on the case, loudest first, otherwise in the order of the work.

    Nothing is ordered and nothing is assumed: what is missing is named in an advisory of its own
    rule.
    """
    kidney = kidney_function(facts, protocol)
    advisories = (
        *side_agreement(facts),
        *red_flags(facts, protocol),
        *renal_vein_compression(facts, protocol),
        *known_allergies(facts),
        *nitrate_question(facts),
        *kidney.advisories,
        *contrast_and_kidney(facts, kidney, protocol),
        *contrast_ceilings(facts, kidney, protocol),
        *bleeding_risk(facts, protocol),
        *bloods_age(facts, protocol),
        *lidocaine_totals(facts, protocol),
        *sclerosant_totals(facts, protocol),
        *radiation_levels(facts, protocol),
        *testis_size(facts, protocol),
        *semen_analysis(facts, protocol),
    )
    return tuple(sorted(advisories, key=lambda a: _LOUDEST_FIRST.index(a.urgency)))
