"""Every kind of entry that the stream of a case knows: its name, its shape, what it is for.

A kind is named in the past tense. ``device_opened``, ``device_implanted``, ``device_wasted`` and
``device_returned`` are the shelf's own facts and stand in both streams with the same payload: in
the case's they say what became of every pack that was opened for it (sign-out), in the shelf's what
lies there still (stock). Neither fold reads the other's stream; `shelf_twins` makes the shelf's
entries out of the case's, so that nobody books a pack twice.
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.assessment import (
    Access,
    Allergies,
    Bloods,
    Conditions,
    ContrastGiven,
    Examination,
    Fertility,
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
from coilwright.record.amendments import EntryCorrected
from coilwright.record.case import (
    Aftercare,
    CaseRun,
    Hospital,
    Implant,
    KitChosen,
    NetworkMarked,
    Outcome,
    Procedure,
)
from coilwright.record.room_closing import (
    FollowedUp,
    HaemostasisReached,
    NoteWritten,
    PatientDischarged,
    SignOutCounted,
)
from coilwright.record.room_coils import CoilMoved, CoilRetrieved
from coilwright.record.room_findings import FindingMade, SpasmSeen, ValsalvaHeld
from coilwright.record.room_medication import MedicationGiven
from coilwright.record.room_pictures import MapEdited, MapMeasured
from coilwright.record.room_preparation import ChecklistCompleted
from coilwright.record.room_troubles import ComplicationGraded, TroubleSeen, TroubleSettled
from coilwright.record.room_way import AccessGained, CatheterPositioned
from coilwright.record.shelf_facts import (
    DeviceImplanted,
    DeviceOpened,
    DeviceReturned,
    DeviceWasted,
    EntryWithdrawn,
)


class Counting(StrEnum):
    """How the entries of one kind add up."""

    LATEST = "the latest counts"
    EACH = "each counts"
    AMENDS = "acts on the entry that it names"


class KindChapter(StrEnum):
    """The part of the job that a kind belongs to."""

    REFERRAL = "Referral and assessment"
    PREPARATION = "Preparation"
    PICTURES = "Way in and pictures"
    GIVEN = "Given and observed"
    DEVICES = "Devices and coils"
    SEEN = "Seen, trouble, complication"
    AFTER = "End, discharge, follow-up"
    AMENDMENTS = "Corrections"


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryKind:
    """One kind: ``shape`` is what its payload holds, ``told`` what it is for."""

    shape: type
    counting: Counting
    chapter: KindChapter
    told: str


def _latest(shape: type, chapter: KindChapter, told: str) -> EntryKind:
    return EntryKind(shape=shape, counting=Counting.LATEST, chapter=chapter, told=told)


def _each(shape: type, chapter: KindChapter, told: str) -> EntryKind:
    return EntryKind(shape=shape, counting=Counting.EACH, chapter=chapter, told=told)


def _amends(shape: type, told: str) -> EntryKind:
    return EntryKind(
        shape=shape, counting=Counting.AMENDS, chapter=KindChapter.AMENDMENTS, told=told
    )


_REFERRAL, _PREPARATION = KindChapter.REFERRAL, KindChapter.PREPARATION
_PICTURES, _GIVEN = KindChapter.PICTURES, KindChapter.GIVEN
_DEVICES, _SEEN, _AFTER = KindChapter.DEVICES, KindChapter.SEEN, KindChapter.AFTER

CASE_KINDS: dict[str, EntryKind] = {
    "patient_registered": _latest(Patient, _REFERRAL, "who it is"),
    "referral_received": _latest(Referral, _REFERRAL, "what the referrer wrote"),
    "examination_made": _each(Examination, _REFERRAL, "what was felt and seen"),
    "ultrasound_reported": _each(Ultrasound, _REFERRAL, "one ultrasound of one side"),
    "semen_analysed": _each(SemenSample, _REFERRAL, "one sample"),
    "testes_measured": _each(Testes, _REFERRAL, "sizes of both sides on one day"),
    "bloods_reported": _latest(Bloods, _REFERRAL, "blood results, each with its day"),
    "medication_recorded": _latest(Medication, _REFERRAL, "what the patient takes"),
    "allergies_recorded": _latest(Allergies, _REFERRAL, "what the patient reacts to"),
    "conditions_recorded": _latest(Conditions, _REFERRAL, "what else the patient has"),
    "fertility_recorded": _latest(Fertility, _REFERRAL, "what the couple's work-up says"),
    "hospital_named": _latest(Hospital, _PREPARATION, "where it is done, and by whom"),
    "procedure_planned": _latest(Procedure, _PREPARATION, "day, technique, drugs that lie ready"),
    "access_recorded": _latest(Access, _PREPARATION, "the way in as planned or measured"),
    "kit_chosen": _latest(KitChosen, _PREPARATION, "the kit file that the case draws on"),
    "worklist_received": _latest(SideCheck, _PREPARATION, "side and patient on the worklist"),
    "consent_signed": _latest(SideCheck, _PREPARATION, "sides and patient on the consent"),
    "checklist_completed": _each(ChecklistCompleted, _PREPARATION, "a checklist, by its answers"),
    "time_out_held": _latest(SideCheck, _PREPARATION, "sides and patient said aloud at time-out"),
    "access_gained": _each(AccessGained, _PICTURES, "a vein was entered"),
    "catheter_positioned": _each(CatheterPositioned, _PICTURES, "where the catheter lies"),
    "run_received": _each(CaseRun, _PICTURES, "a run with its injection conditions"),
    "network_marked": _latest(NetworkMarked, _PICTURES, "the file of marks that make a network"),
    "map_measured": _each(MapMeasured, _PICTURES, "a vein map, by name and SHA-256"),
    "map_edited": _each(MapEdited, _PICTURES, "a person changed a map, by name and SHA-256"),
    "lidocaine_given": _each(LidocaineGiven, _GIVEN, "one injection of lidocaine"),
    "other_anaesthetic_given": _each(
        OtherAnaestheticGiven, _GIVEN, "one injection of another local anaesthetic"
    ),
    "contrast_given": _each(ContrastGiven, _GIVEN, "one amount of contrast medium"),
    "sclerosant_given": _each(SclerosantGiven, _GIVEN, "one injection of sclerosant"),
    "sedative_given": _each(SedativeGiven, _GIVEN, "one dose of a sedative"),
    "nitrate_given": _each(NitrateGiven, _GIVEN, "one dose of nitrate, with the pressure before"),
    "medication_given": _each(MedicationGiven, _GIVEN, "one dose of any other drug"),
    "observation_made": _each(Observation, _GIVEN, "what the monitor showed"),
    "radiation_recorded": _latest(
        RadiationGiven, _GIVEN, "the dose record: what the machine shows in all, so far"
    ),
    "device_opened": _each(DeviceOpened, _DEVICES, "packs opened for this case"),
    "device_implanted": _each(DeviceImplanted, _DEVICES, "packs left in the patient"),
    "device_wasted": _each(DeviceWasted, _DEVICES, "packs opened and thrown away"),
    "device_returned": _each(DeviceReturned, _DEVICES, "packs not used, back on the shelf"),
    "coil_placed": _each(Implant, _DEVICES, "a coil or plug at its level"),
    "coil_moved": _each(CoilMoved, _DEVICES, "a coil lies elsewhere than it was placed"),
    "coil_retrieved": _each(CoilRetrieved, _DEVICES, "a coil was taken out again"),
    "finding_made": _each(FindingMade, _SEEN, "a finding in the radiologist's words"),
    "spasm_seen": _each(SpasmSeen, _SEEN, "a narrowing taken for spasm"),
    "valsalva_held": _each(ValsalvaHeld, _SEEN, "a Valsalva, and how long it was held"),
    "trouble_seen": _each(TroubleSeen, _SEEN, "something goes wrong; open until settled"),
    "trouble_settled": _each(TroubleSettled, _SEEN, "a trouble is over, and how"),
    "complication_graded": _each(
        ComplicationGraded, _SEEN, "a complication, its grade, the scheme and its version"
    ),
    "haemostasis_reached": _each(HaemostasisReached, _AFTER, "the entry no longer bleeds"),
    "sign_out_counted": _latest(SignOutCounted, _AFTER, "what people counted at sign-out"),
    "outcome_recorded": _latest(Outcome, _AFTER, "how it ended, in the operator's words"),
    "aftercare_advised": _latest(Aftercare, _AFTER, "what the patient is told"),
    "patient_discharged": _latest(PatientDischarged, _AFTER, "where to, by which criteria"),
    "followed_up": _each(FollowedUp, _AFTER, "what a visit, a call or a test showed"),
    "note_written": _each(NoteWritten, _AFTER, "anything that no other kind holds"),
    "entry_corrected": _amends(EntryCorrected, "the whole of an entry's payload, said rightly"),
    "entry_withdrawn": _amends(EntryWithdrawn, "the entry that it names is not so"),
}
DEVICE_KINDS = frozenset({"device_opened", "device_implanted", "device_wasted", "device_returned"})
