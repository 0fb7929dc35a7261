"""A case: what the entries of one stream add up to. Everything downstream reads this alone."""

import datetime as dt
from dataclasses import dataclass, field
from pathlib import Path

from coilwright.assessment import (
    Access,
    Allergies,
    Bloods,
    Conditions,
    Examination,
    Facts,
    Fertility,
    Given,
    Medication,
    Patient,
    PlannedAnaesthetic,
    PlannedContrast,
    PlannedSclerosant,
    Referral,
    SemenSample,
    SideCheck,
    Testes,
    Ultrasound,
)
from coilwright.veins import Conditions as RunConditions
from coilwright.veins import Landmarks, Side


@dataclass(frozen=True, slots=True, kw_only=True)
class Hospital:
    """Where it is done, and by whom, as the report's head prints it."""

    name: str | None = None
    department: str | None = None
    operator: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Procedure:
    """The procedure as planned: its day, why, how, and the drugs that lie ready."""

    date: dt.date | None = None
    indication: str | None = None
    technique: str | None = None
    local_anaesthetic: PlannedAnaesthetic | None = None
    contrast: PlannedContrast | None = None
    sclerosant: PlannedSclerosant | None = None
    sedation_planned: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseRun:
    """One run of the case: its file, its scale as stated, and the operator's marks on it.

    ``mask_frames`` count from 0; None leaves the choice to the measurement. ``landmarks`` are
    in pixels (x, y) of the raw frame.
    """

    file: Path
    catheter_fr: float | None = None
    catheter_lumen_mm: float | None = None
    mm_per_pixel: float | None = None
    mask_frames: tuple[int, ...] | None = None
    side: Side | None = None
    conditions: RunConditions = field(default_factory=RunConditions)
    landmarks: Landmarks = field(default_factory=Landmarks)


@dataclass(frozen=True, slots=True, kw_only=True)
class KitChosen:
    """The kit file that the case draws on."""

    file: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkMarked:
    """The file of the operator's marks that make a network of the vein map."""

    file: Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Implant:
    """One device left in the patient; ``device`` is its id in the kit."""

    level: str
    device: str
    lot: str | None = None
    serial: str | None = None
    udi: str | None = None
    at: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """How it ended, in the operator's words."""

    result: str | None = None
    haemostasis: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Aftercare:
    """What the patient is told, and when he is seen again."""

    advice: tuple[str, ...] = ()
    follow_up: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One patient's procedure, folded from its entries.

    Paths are resolved against the folder of the case file. Totals are properties of ``given``.
    """

    id: str
    patient: Patient
    hospital: Hospital = field(default_factory=Hospital)
    procedure: Procedure = field(default_factory=Procedure)
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
    runs: tuple[CaseRun, ...] = ()
    kit_file: Path | None = None
    network_marks_file: Path | None = None
    given: Given = field(default_factory=Given)
    implants: tuple[Implant, ...] = ()
    outcome: Outcome = field(default_factory=Outcome)
    aftercare: Aftercare = field(default_factory=Aftercare)

    def facts(self, today: dt.date) -> Facts:
        """What the rules may read, as of the procedure's day, or of today before one is set."""
        return Facts(
            on=self.procedure.date or today,
            patient=self.patient,
            referral=self.referral,
            examination=self.examination,
            ultrasound=self.ultrasound,
            semen=self.semen,
            testes=self.testes,
            bloods=self.bloods,
            medication=self.medication,
            allergies=self.allergies,
            conditions=self.conditions,
            fertility=self.fertility,
            access=self.access,
            worklist=self.worklist,
            consent=self.consent,
            time_out=self.time_out,
            run_sides=tuple(run.side for run in self.runs if run.side is not None),
            anaesthetic=self.procedure.local_anaesthetic,
            contrast=self.procedure.contrast,
            sclerosant=self.procedure.sclerosant,
            sedation_planned=self.procedure.sedation_planned,
            given=self.given,
        )
