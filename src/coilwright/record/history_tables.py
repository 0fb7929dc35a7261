"""The tables of a case file that say what the patient takes, reacts to and has."""

import datetime as dt

from coilwright.assessment import (
    Allergies,
    Conditions,
    Fertility,
    Medication,
    Onset,
    ReactionOnset,
    ReactionSeverity,
    RenalVein,
)
from coilwright.record.fields import Fields
from coilwright.units import QuantityKind as Kind

GRADIENT_MMHG = (-20.0, 40.0)
ANGLE_DEG = (0.0, 120.0)
TRYING_MONTHS = (0.0, 600.0)


def read_medication(fields: Fields, today: dt.date) -> Medication:
    """``[medication]``"""
    medication = Medication(
        metformin=fields.flag("metformin"),
        pde5_inhibitor=fields.flag("pde5_inhibitor"),
        pde5_drug=fields.text("pde5_drug"),
        pde5_last_taken=fields.day("pde5_last_taken", not_after=today),
        nitrate=fields.flag("nitrate"),
        anticoagulant=fields.text("anticoagulant"),
        antiplatelet=fields.text("antiplatelet"),
        others=fields.texts("others"),
    )
    _only_with(fields, medication.pde5_inhibitor, "pde5_inhibitor", "pde5_drug", "pde5_last_taken")
    fields.done()
    return medication


def _only_with(fields: Fields, answer: bool | None, asked: str, *details: str) -> None:
    """Note a detail of something that is said not to be there, or that nobody has answered.

    An unanswered question is never taken for a yes, and a detail must not be passed over.
    """
    for key in details:
        if answer is True or not fields.has(key):
            continue
        if answer is False:
            fields.note(key, f"stated although {asked} is false", f"check {asked}")
        elif not fields.has(asked):
            fields.note(key, f"stated without {asked}", f"add {asked}")


def read_allergies(fields: Fields, today: dt.date) -> Allergies:  # noqa: ARG001  # one shape
    """``[allergies]``"""
    allergies = Allergies(
        contrast=fields.flag("contrast"),
        contrast_agent=fields.text("contrast_agent"),
        contrast_reaction=fields.option("contrast_reaction", ReactionSeverity),
        contrast_reaction_onset=fields.option("contrast_reaction_onset", ReactionOnset),
        local_anaesthetic=fields.flag("local_anaesthetic"),
        sclerosant=fields.flag("sclerosant"),
        metal=fields.flag("metal"),
        others=fields.texts("others"),
    )
    details = ("contrast_agent", "contrast_reaction", "contrast_reaction_onset")
    _only_with(fields, allergies.contrast, "contrast", *details)
    fields.done()
    return allergies


def read_conditions(fields: Fields, today: dt.date) -> Conditions:  # noqa: ARG001  # one shape
    """``[conditions]``, with ``[conditions.renal_vein]`` inside."""
    conditions = Conditions(
        onset=fields.option("onset", Onset),
        acute_pain=fields.flag("acute_pain"),
        scrotal_ache=fields.flag("scrotal_ache"),
        previous_repair=fields.flag("previous_repair"),
        empties_supine=fields.flag("empties_supine"),
        renal_vein=_renal_vein(fields.table("renal_vein")),
        acute_kidney_injury=fields.flag("acute_kidney_injury"),
        dialysis=fields.flag("dialysis"),
        hyperthyroidism=fields.flag("hyperthyroidism"),
        thyroid_nodules_or_goitre=fields.flag("thyroid_nodules_or_goitre"),
        radioiodine_planned=fields.flag("radioiodine_planned"),
        bleeding_disorder=fields.flag("bleeding_disorder"),
        right_to_left_shunt=fields.flag("right_to_left_shunt"),
        stroke_or_tia=fields.flag("stroke_or_tia"),
        migraine=fields.flag("migraine"),
        pulmonary_hypertension=fields.flag("pulmonary_hypertension"),
        thrombosis_risk=fields.flag("thrombosis_risk"),
        others=fields.texts("others"),
    )
    fields.done()
    return conditions


def _renal_vein(fields: Fields) -> RenalVein:
    renal_vein = RenalVein(
        compression_signs=fields.flag("compression_signs"),
        occlusion=fields.flag("occlusion"),
        circumaortic=fields.flag("circumaortic"),
        retroaortic=fields.flag("retroaortic"),
        aortomesenteric_angle_deg=fields.measure(
            "aortomesenteric_angle", Kind.ANGLE, "deg", ANGLE_DEG
        ),
        gradient_mmhg=fields.measure("gradient", Kind.PRESSURE, "mmHg", GRADIENT_MMHG),
        imaging=fields.text("imaging"),
    )
    fields.done()
    return renal_vein


def read_fertility(fields: Fields, today: dt.date) -> Fertility:  # noqa: ARG001  # one shape
    """``[fertility]``"""
    fertility = Fertility(
        infertility=fields.flag("infertility"),
        trying_months=fields.measure("trying_for", Kind.MONTHS, "months", TRYING_MONTHS),
        otherwise_unexplained=fields.flag("otherwise_unexplained"),
        partner_ovarian_reserve_good=fields.flag("partner_ovarian_reserve_good"),
        dna_fragmentation_raised=fields.flag("dna_fragmentation_raised"),
        recurrent_art_failure_or_pregnancy_loss=fields.flag(
            "recurrent_art_failure_or_pregnancy_loss"
        ),
    )
    fields.done()
    return fertility
