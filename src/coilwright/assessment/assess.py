"""Everything that can be said of one case before and around the catheter, loudest first."""

from collections.abc import Callable, Collection

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.allergies import known_allergies
from coilwright.assessment.antithrombotics import antithrombotics
from coilwright.assessment.bleeding import bleeding_disorder, bleeding_risk
from coilwright.assessment.bloods_age import bloods_age
from coilwright.assessment.chapters import AROUND_THE_PROCEDURE, Chapter
from coilwright.assessment.chiou import chiou_score
from coilwright.assessment.clinical_grade import dubin_amelar
from coilwright.assessment.consent_figures import consent_figures
from coilwright.assessment.contrast import contrast_ceilings
from coilwright.assessment.contrast_allergy import contrast_allergy_pathway
from coilwright.assessment.contrast_kidney import contrast_and_kidney
from coilwright.assessment.facts import Facts, Sex
from coilwright.assessment.findings_of_men import findings_of_men
from coilwright.assessment.grade_as_stated import grade_as_stated
from coilwright.assessment.identity_gate import identity_agreement
from coilwright.assessment.indication import SUMMARY_RULE, indication
from coilwright.assessment.kidney import kidney_function
from coilwright.assessment.local_anaesthetic import local_anaesthetic_totals
from coilwright.assessment.observations import observation_limits
from coilwright.assessment.pde5_window import pde5_window
from coilwright.assessment.radiation import radiation_totals
from coilwright.assessment.red_flags import red_flags
from coilwright.assessment.renal_vein import renal_vein_compression
from coilwright.assessment.sarteschi import sarteschi
from coilwright.assessment.sclerosant import sclerosant_totals
from coilwright.assessment.sedation import sedation_totals
from coilwright.assessment.semen import semen_analysis
from coilwright.assessment.semen_change import semen_change
from coilwright.assessment.side_gate import side_agreement
from coilwright.assessment.spasm_drugs import nitrate_given, nitrate_question
from coilwright.assessment.testis import testis_size
from coilwright.assessment.testis_adolescent import adolescent_criterion
from coilwright.assessment.thyroid import thyroid_contrast
from coilwright.assessment.ultrasound_agreement import criteria_agreement
from coilwright.assessment.ultrasound_criteria import ultrasound_criteria
from coilwright.assessment.ultrasound_reference import ultrasound_reference
from coilwright.assessment.ultrasound_veins import largest_veins
from coilwright.protocol import Protocol

Rules = Callable[[Facts, Protocol], tuple[Advisory, ...]]
_LOUDEST_FIRST = (Urgency.STOP_AND_THINK, Urgency.CAUTION, Urgency.INFO)


def assess(
    facts: Facts, protocol: Protocol, chapters: Collection[Chapter] = AROUND_THE_PROCEDURE
) -> tuple[Advisory, ...]:
    """The advisories of some chapters, loudest first, otherwise in the order of the work.

    The summary of the indication is always among them. Nothing is ordered and nothing is assumed:
    what is missing is named in an advisory of its own rule.
    """
    return tuple(
        advisory
        for advisory, chapter in assess_by_chapter(facts, protocol)
        if chapter in chapters or advisory.rule == SUMMARY_RULE
    )


def assess_by_chapter(facts: Facts, protocol: Protocol) -> tuple[tuple[Advisory, Chapter], ...]:
    """Every advisory on the case with its chapter, loudest first."""
    said = [
        (advisory, chapter)
        for chapter, rules in _RULES.items()
        for rule in rules
        for advisory in rule(facts, protocol)
    ]
    return tuple(sorted(said, key=lambda pair: _LOUDEST_FIRST.index(pair[0].urgency)))


def _by_facts_alone(rule: Callable[[Facts], tuple[Advisory, ...]]) -> Rules:
    return lambda facts, _: rule(facts)


def _of_men(rule: Rules) -> Rules:
    """A rule that says nothing of a woman: ``findings_of_men`` speaks in its place."""
    return lambda facts, protocol: () if facts.patient.sex is Sex.FEMALE else rule(facts, protocol)


def _kidney_and_contrast(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    kidney = kidney_function(facts, protocol)
    return (
        *kidney.advisories,
        *contrast_and_kidney(facts, kidney, protocol),
        *contrast_ceilings(facts, kidney, protocol),
    )


_RULES: dict[Chapter, tuple[Rules, ...]] = {
    Chapter.IDENTITY: (
        _by_facts_alone(side_agreement),
        _by_facts_alone(identity_agreement),
    ),
    Chapter.WARNING_SIGNS: (red_flags, renal_vein_compression),
    Chapter.FINDINGS: (
        _by_facts_alone(findings_of_men),
        *map(
            _of_men,
            (
                _by_facts_alone(dubin_amelar),
                _by_facts_alone(grade_as_stated),
                _by_facts_alone(largest_veins),
                ultrasound_criteria,
                ultrasound_reference,
                criteria_agreement,
                _by_facts_alone(sarteschi),
                chiou_score,
                testis_size,
                adolescent_criterion,
                semen_analysis,
                semen_change,
            ),
        ),
    ),
    Chapter.INDICATION: (indication,),
    Chapter.KIDNEY_AND_CONTRAST: (
        _by_facts_alone(known_allergies),
        contrast_allergy_pathway,
        _kidney_and_contrast,
        thyroid_contrast,
    ),
    Chapter.BLEEDING: (
        bleeding_risk,
        _by_facts_alone(bleeding_disorder),
        antithrombotics,
        bloods_age,
    ),
    Chapter.DRUGS: (
        local_anaesthetic_totals,
        sclerosant_totals,
        sedation_totals,
        observation_limits,
        _by_facts_alone(nitrate_question),
        pde5_window,
        nitrate_given,
    ),
    Chapter.RADIATION: (radiation_totals,),
    Chapter.CONSENT: (consent_figures,),
}
