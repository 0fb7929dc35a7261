"""What is known about one patient before and during the procedure.

``sides`` holds one side or both, left first; it is empty where none is stated.

Every field that nobody has stated is None; nothing is inferred. Blood results keep the unit they
were reported in. The record folds its entries into these values, and the rules read only them.
"""

import datetime as dt
from dataclasses import dataclass, field
from enum import StrEnum

from coilwright.assessment.findings import Bloods, Examination, SemenSample, Testes, Ultrasound
from coilwright.assessment.given import (
    Given,
    PlannedAnaesthetic,
    PlannedContrast,
    PlannedSclerosant,
)
from coilwright.assessment.history import Allergies, Conditions, Fertility, Medication
from coilwright.veins import Side


class Sex(StrEnum):
    """As recorded for the equations that need it."""

    MALE = "male"
    FEMALE = "female"


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    """Who it is. ``sex`` is None where it is missing or recorded as unknown."""

    id: str
    name: str
    birth_date: dt.date | None = None
    sex: Sex | None = None
    weight_kg: float | None = None
    height_cm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Referral:
    """What the referrer wrote; the grade stays as stated."""

    sides: tuple[Side, ...] = ()
    reasons: tuple[str, ...] = ()
    grade_as_stated: str | None = None
    date: dt.date | None = None
    referrer: str | None = None
    patient_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredLength:
    """A stretch of the way to the vein that was measured on the table, by the route's own names."""

    part: str
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Access:
    """Where the vein is entered, and the lengths of the way that were measured on the table."""

    vein: str | None = None
    side: Side | None = None
    sheath_fr: float | None = None
    measured: tuple[MeasuredLength, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class SideCheck:
    """Sides that somebody signed, booked or said aloud: consent, worklist, or the time-out."""

    sides: tuple[Side, ...] = ()
    date: dt.date | None = None
    by: str | None = None
    patient_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """All that the rules may read about one case, as it is known on the day ``on``."""

    on: dt.date
    patient: Patient
    referral: Referral = field(default_factory=Referral)
    examination: tuple[Examination, ...] = ()
    ultrasound: tuple[Ultrasound, ...] = ()
    semen: tuple[SemenSample, ...] = ()
    testes: tuple[Testes, ...] = ()
    bloods: Bloods = field(default_factory=Bloods)
    medication: Medication = field(default_factory=Medication)
    allergies: Allergies = field(default_factory=Allergies)
    conditions: Conditions = field(default_factory=Conditions)
    fertility: Fertility = field(default_factory=Fertility)
    access: Access = field(default_factory=Access)
    worklist: SideCheck = field(default_factory=SideCheck)
    consent: SideCheck = field(default_factory=SideCheck)
    time_out: SideCheck = field(default_factory=SideCheck)
    run_sides: tuple[Side, ...] = ()
    anaesthetic: PlannedAnaesthetic | None = None
    contrast: PlannedContrast | None = None
    sclerosant: PlannedSclerosant | None = None
    sedation_planned: bool | None = None
    given: Given = field(default_factory=Given)
