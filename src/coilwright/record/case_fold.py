"""The fold: entries of one case in, the case out. Which kind of entry says what stands here."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from coilwright.assessment import (
    Access,
    Allergies,
    Bloods,
    Conditions,
    ContrastGiven,
    Examination,
    Fertility,
    Given,
    LidocaineGiven,
    Medication,
    NitrateGiven,
    Observation,
    OtherAnaestheticGiven,
    Patient,
    RadiationGiven,
    Referral,
    SclerosantGiven,
    SedativeGiven,
    SemenSample,
    SideCheck,
    Testes,
    Ultrasound,
)
from coilwright.record.case import (
    Aftercare,
    Case,
    CaseRun,
    Hospital,
    Implant,
    KitChosen,
    NetworkMarked,
    Outcome,
    Procedure,
)
from coilwright.record.entry import Entry

# A later entry of the same kind takes the place of an earlier one.
STATED_ONCE: dict[str, type] = {
    "patient_registered": Patient,
    "hospital_named": Hospital,
    "procedure_planned": Procedure,
    "referral_received": Referral,
    "bloods_reported": Bloods,
    "medication_recorded": Medication,
    "allergies_recorded": Allergies,
    "conditions_recorded": Conditions,
    "fertility_recorded": Fertility,
    "access_recorded": Access,
    "worklist_received": SideCheck,
    "consent_signed": SideCheck,
    "time_out_held": SideCheck,
    "kit_chosen": KitChosen,
    "network_marked": NetworkMarked,
    "radiation_recorded": RadiationGiven,
    "outcome_recorded": Outcome,
    "aftercare_advised": Aftercare,
}
# Every entry of these kinds counts.
ADDED_UP: dict[str, type] = {
    "examination_made": Examination,
    "ultrasound_reported": Ultrasound,
    "semen_analysed": SemenSample,
    "testes_measured": Testes,
    "run_received": CaseRun,
    "lidocaine_given": LidocaineGiven,
    "other_anaesthetic_given": OtherAnaestheticGiven,
    "contrast_given": ContrastGiven,
    "sclerosant_given": SclerosantGiven,
    "sedative_given": SedativeGiven,
    "nitrate_given": NitrateGiven,
    "observation_made": Observation,
    "coil_placed": Implant,
}


class UnreadableEntry(ValueError):
    """An entry is of a kind that a case does not know."""


def payload_of(value: object) -> dict[str, Any]:
    """A fact as plain JSON values."""
    shape: Any = type(value)
    payload: dict[str, Any] = _adapter(shape).dump_python(value, mode="json")
    return payload


def fact_of(entry: Entry) -> object:
    """The fact that an entry holds.

    Raises
    ------
    UnreadableEntry
        Its kind is not one of a case's.
    """
    shape = STATED_ONCE.get(entry.kind) or ADDED_UP.get(entry.kind)
    if shape is None:
        raise UnreadableEntry(f"a case has no entries of the kind {entry.kind}")
    return _adapter(shape).validate_python(entry.payload)


def fold_case(entries: Sequence[Entry], folder: Path = Path()) -> Case:
    """The case that the entries of one stream add up to; files are looked for in ``folder``.

    Raises
    ------
    UnreadableEntry
        There is no entry, no patient, or a kind that a case does not know.
    """
    once: dict[str, Any] = {}
    many: dict[str, list[Any]] = {kind: [] for kind in ADDED_UP}
    for entry in entries:
        fact = fact_of(entry)
        if entry.kind in ADDED_UP:
            many[entry.kind].append(fact)
        else:
            once[entry.kind] = fact
    if "patient_registered" not in once:
        raise UnreadableEntry("a case needs its patient first")
    return _case(entries[0].stream, once, {kind: tuple(f) for kind, f in many.items()}, folder)


def _case(
    stream: str, once: Mapping[str, Any], many: Mapping[str, tuple[Any, ...]], folder: Path
) -> Case:
    kit, marks = once.get("kit_chosen"), once.get("network_marked")
    return Case(
        id=stream,
        patient=once["patient_registered"],
        hospital=once.get("hospital_named", Hospital()),
        procedure=once.get("procedure_planned", Procedure()),
        referral=once.get("referral_received", Referral()),
        examination=many["examination_made"],
        ultrasound=many["ultrasound_reported"],
        semen=many["semen_analysed"],
        testes=many["testes_measured"],
        bloods=once.get("bloods_reported", Bloods()),
        medication=once.get("medication_recorded", Medication()),
        allergies=once.get("allergies_recorded", Allergies()),
        conditions=once.get("conditions_recorded", Conditions()),
        fertility=once.get("fertility_recorded", Fertility()),
        access=once.get("access_recorded", Access()),
        worklist=once.get("worklist_received", SideCheck()),
        consent=once.get("consent_signed", SideCheck()),
        time_out=once.get("time_out_held", SideCheck()),
        runs=_resolved(many["run_received"], folder),
        kit_file=None if kit is None else folder / kit.file,
        network_marks_file=None if marks is None else folder / marks.file,
        given=Given(
            lidocaine=many["lidocaine_given"],
            other_anaesthetics=many["other_anaesthetic_given"],
            contrast=many["contrast_given"],
            sclerosant=many["sclerosant_given"],
            sedation=many["sedative_given"],
            nitrate=many["nitrate_given"],
            observations=many["observation_made"],
            radiation=once.get("radiation_recorded"),
        ),
        implants=many["coil_placed"],
        outcome=once.get("outcome_recorded", Outcome()),
        aftercare=once.get("aftercare_advised", Aftercare()),
    )


def _resolved(runs: Iterable[CaseRun], folder: Path) -> tuple[CaseRun, ...]:
    return tuple(replace(run, file=folder / run.file) for run in runs)


@cache
def _adapter(shape: Any) -> TypeAdapter[Any]:
    return TypeAdapter(shape)
