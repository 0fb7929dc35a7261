"""Facts of a case as entries of its stream, and what is no entry of a case."""

import re
from dataclasses import fields, replace
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings

from coilwright.assessment import (
    ContrastGiven,
    LidocaineGiven,
    Observation,
    RadiationGiven,
    SclerosantDrug,
    SclerosantGiven,
)
from coilwright.record import (
    CASE_KINDS,
    AccessGained,
    Answer,
    CaseRun,
    CatheterPositioned,
    ChecklistCompleted,
    ChecklistItem,
    CoilMoved,
    CoilRetrieved,
    ComplicationGraded,
    ComplicationScheme,
    DeviceOpened,
    DocumentReference,
    DoseUnit,
    EntryCorrected,
    FindingMade,
    FollowedUp,
    HaemostasisReached,
    Implant,
    MapEdited,
    MapMeasured,
    MedicationGiven,
    NoteWritten,
    Pack,
    PatientDischarged,
    SignOutCounted,
    SpasmSeen,
    TroubleSeen,
    TroubleSettled,
    UnreadableEntry,
    ValsalvaHeld,
    canonical_json,
    fact_of,
)
from coilwright.veins import Conditions, Side
from record.room_entries import CASE, DAY, entry_at, facts

ONE = UUID(int=1)
RUN = "2.25.1234"
ITEM = ChecklistItem(question="Name and birth date said?", answer=Answer.YES, said="by the patient")
# SHA-256 of no byte at all, and of "abc": FIPS 180-4.
EMPTY = DocumentReference(
    name="map.json", sha256="e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
)
ABC = DocumentReference(
    name="map-2.json", sha256="ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
)
TOLD: dict[str, object] = {
    "checklist_completed": ChecklistCompleted(checklist="room 1", items=(ITEM,), led_by="scribe"),
    "access_gained": AccessGained(vein="right internal jugular", side=Side.RIGHT, sheath_fr=5.0),
    "catheter_positioned": CatheterPositioned(
        vessel="left gonadal", level="L4", run=RUN, tip_px=(301.5, 200.0)
    ),
    "map_measured": MapMeasured(map=EMPTY, runs=(RUN,)),
    "map_edited": MapEdited(map=ABC, edited_from=EMPTY, why="the ureter is no vein"),
    "medication_given": MedicationGiven(drug="atropine", dose=0.6, unit=DoseUnit.MILLIGRAM),
    "coil_moved": CoilMoved(coil=ONE, to="renal vein", wanted=False),
    "coil_retrieved": CoilRetrieved(coil=ONE, how="snare"),
    "finding_made": FindingMade(found="a duplicate at L4", side=Side.LEFT, run=RUN),
    "spasm_seen": SpasmSeen(where="whole trunk", whole_trunk=True, calibre_mm=1.4),
    "valsalva_held": ValsalvaHeld(held_s=9.0, sustained=True),
    "trouble_seen": TroubleSeen(what="contrast outside the vein", done="waited"),
    "trouble_settled": TroubleSettled(trouble=ONE, how="no more on the next run"),
    "complication_graded": ComplicationGraded(
        what="extravasation", scheme=ComplicationScheme.CIRSE_2017, grade="1", trouble=ONE
    ),
    "haemostasis_reached": HaemostasisReached(where="neck", method="by hand", held_min=5.0),
    "sign_out_counted": SignOutCounted(opened=3, implanted=2, wasted=1, returned=0),
    "patient_discharged": PatientDischarged(to="home", criteria=(ITEM,), accompanied=True),
    "followed_up": FollowedUp(how="ultrasound", found="no reflux", reflux=False),
    "note_written": NoteWritten(text="comfortable"),
    "entry_corrected": EntryCorrected(entry=ONE, why="misheard", payload={"text": "x"}, at=DAY),
}


@pytest.mark.parametrize("kind", TOLD)
def test_an_entry_of_the_room_gives_back_the_fact_that_it_was_made_of(kind: str) -> None:
    entry = entry_at(1, TOLD[kind], number=1, kind=kind)
    assert fact_of(entry) == TOLD[kind]
    # What the store writes and hashes is what JSON holds.
    assert canonical_json(entry.payload)


@given(facts)
@settings(suppress_health_check=[HealthCheck.too_slow], deadline=None)
def test_an_entry_drawn_by_chance_gives_back_its_fact(fact: object) -> None:
    assert fact_of(entry_at(1, fact, number=1)) == fact


@pytest.mark.parametrize("kind", CASE_KINDS)
def test_no_kind_takes_a_field_that_it_does_not_know(kind: str) -> None:
    entry = replace(entry_at(1, NoteWritten(text="x"), number=1), kind=kind)
    with pytest.raises(UnreadableEntry, match=rf"\({kind}\): "):
        fact_of(replace(entry, payload={"no such field": 1}))


def test_kinds_are_named_in_the_past_tense_and_their_shapes_are_frozen() -> None:
    for kind, row in CASE_KINDS.items():
        # English past participles of these kinds end so.
        assert re.search(r"(ed|en|drawn|held|made|_up)$", kind), kind
        assert fields(row.shape), kind
        assert row.shape.__dict__["__dataclass_params__"].frozen, kind


DOSE = LidocaineGiven(strength_mg_per_ml=10.0, volume_ml=8.0, adrenaline=False)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"volume_ml": "8"}, "volume_ml: input should be a valid number"),
        ({"volume_ml": True}, "volume_ml: input should be a valid number"),
        ({"adrenaline": 0}, "adrenaline: input should be a valid boolean"),
        ({"volumes_ml": 8.0}, "volumes_ml: unexpected keyword argument"),
    ],
)
def test_a_payload_is_read_strictly(change: dict[str, object], sentence: str) -> None:
    entry = entry_at(1, DOSE, number=1)
    with pytest.raises(UnreadableEntry, match=sentence):
        fact_of(replace(entry, payload={**entry.payload, **change}))


@pytest.mark.parametrize(
    ("kind", "fact", "sentence"),
    [
        ("lidocaine_given", replace(DOSE, volume_ml=-8.0), "volume_ml: -8 is not possible"),
        ("lidocaine_given", replace(DOSE, strength_mg_per_ml=1000.0), "strength_mg_per_ml: 1000"),
        (
            "contrast_given",
            ContrastGiven(concentration_mgi_per_ml=3.0, volume_ml=8.0),
            "concentration_mgi_per_ml: 3 is not possible; give a number from 50 to 500",
        ),
        (
            "sclerosant_given",
            SclerosantGiven(
                drug=SclerosantDrug.STS,
                strength_mg_per_ml=10.0,
                liquid_ml=1.0,
                gas_ml=4.0,
                microfoam_ml=5.0,
            ),
            "gas_ml: stated beside microfoam_ml",
        ),
        ("observation_made", Observation(oxygen_saturation_percent=980.0), "percent: 980"),
        ("radiation_recorded", RadiationGiven(fluoroscopy_min=481.0), "fluoroscopy_min: 481"),
        (
            "radiation_recorded",
            RadiationGiven(frames=10, frames_over_testes=11),
            "frames_over_testes: more than frames",
        ),
        ("coil_placed", Implant(level="", device="x"), "level: empty"),
        (
            "run_received",
            CaseRun(file=Path("a.dcm"), conditions=Conditions(volume_ml=-1.0)),
            "volume_ml: -1 is not possible",
        ),
        ("note_written", DOSE, "payload: of another kind"),
        ("coil_opened", DOSE, "no entries of the kind coil_opened"),
    ],
)
def test_what_cannot_be_so_gets_no_entry(kind: str, fact: object, sentence: str) -> None:
    # 8 hours of fluoroscopy and the other bounds are those of the case file.
    with pytest.raises(UnreadableEntry, match=sentence):
        entry_at(1, fact, number=1, kind=kind)


def test_the_shelfs_own_facts_stand_in_the_case_too() -> None:
    opened = DeviceOpened(pack=Pack(di="00400000000107"), count=1, case=CASE)
    assert fact_of(entry_at(1, opened, number=1)) == opened
