"""What the patient takes, reacts to and has; None means that nobody has asked."""

import datetime as dt
from dataclasses import dataclass, field
from enum import StrEnum


class Onset(StrEnum):
    """Whether the varicocele is new or has long been there."""

    NEW = "new"
    LONGSTANDING = "longstanding"


class ReactionSeverity(StrEnum):
    """How bad an earlier reaction to contrast medium was."""

    MILD = "mild"
    MODERATE = "moderate"
    SEVERE = "severe"


class ReactionOnset(StrEnum):
    """Within an hour of the injection, or later."""

    ACUTE = "acute"
    LATE = "late"


@dataclass(frozen=True, slots=True, kw_only=True)
class Medication:
    """Drugs that bear on the procedure; None means that nobody has asked."""

    metformin: bool | None = None
    pde5_inhibitor: bool | None = None
    pde5_drug: str | None = None
    pde5_last_taken: dt.date | None = None
    nitrate: bool | None = None
    anticoagulant: str | None = None
    antiplatelet: str | None = None
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergies:
    """Known allergies; None means that nobody has asked."""

    contrast: bool | None = None
    contrast_agent: str | None = None
    contrast_reaction: ReactionSeverity | None = None
    contrast_reaction_onset: ReactionOnset | None = None
    local_anaesthetic: bool | None = None
    sclerosant: bool | None = None
    metal: bool | None = None
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RenalVein:
    """Whether the gonadal vein may be the kidney's way out."""

    compression_signs: bool | None = None
    occlusion: bool | None = None
    circumaortic: bool | None = None
    retroaortic: bool | None = None
    aortomesenteric_angle_deg: float | None = None
    gradient_mmhg: float | None = None
    imaging: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Conditions:
    """What else is known of the patient; None means that nobody has asked."""

    onset: Onset | None = None
    acute_pain: bool | None = None
    scrotal_ache: bool | None = None
    previous_repair: bool | None = None
    empties_supine: bool | None = None
    renal_vein: RenalVein = field(default_factory=RenalVein)
    acute_kidney_injury: bool | None = None
    dialysis: bool | None = None
    hyperthyroidism: bool | None = None
    thyroid_nodules_or_goitre: bool | None = None
    radioiodine_planned: bool | None = None
    bleeding_disorder: bool | None = None
    right_to_left_shunt: bool | None = None
    stroke_or_tia: bool | None = None
    migraine: bool | None = None
    pulmonary_hypertension: bool | None = None
    thrombosis_risk: bool | None = None
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fertility:
    """What the couple's work-up says; None means that nobody has asked."""

    infertility: bool | None = None
    trying_months: float | None = None
    otherwise_unexplained: bool | None = None
    partner_ovarian_reserve_good: bool | None = None
    dna_fragmentation_raised: bool | None = None
    recurrent_art_failure_or_pregnancy_loss: bool | None = None
