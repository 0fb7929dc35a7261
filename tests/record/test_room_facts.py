"""Facts of the room that cannot be so: refused with the field and the mend, no word repeated."""

import datetime as dt
from collections.abc import Callable
from uuid import UUID

import pytest

from coilwright.record import (
    AccessGained,
    Answer,
    CatheterPositioned,
    ChecklistCompleted,
    ChecklistItem,
    CoilMoved,
    DocumentReference,
    DoseUnit,
    EntryCorrected,
    FindingMade,
    FollowedUp,
    HaemostasisReached,
    ImpossibleFact,
    MapEdited,
    MapMeasured,
    MedicationGiven,
    NoteWritten,
    PatientDischarged,
    SignOutCounted,
    SpasmSeen,
    TroubleSeen,
    TroubleSettled,
    ValsalvaHeld,
)

ONE = UUID(int=1)
# SHA-256 of no byte at all: FIPS 180-4, the empty message.
EMPTY = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
MAP = DocumentReference(name="map.json", sha256=EMPTY)


def drug(name: str, dose: float = 1.0) -> MedicationGiven:
    return MedicationGiven(drug=name, dose=dose, unit=DoseUnit.MILLIGRAM)


@pytest.mark.parametrize(
    ("build", "sentence"),
    [
        (lambda: AccessGained(vein=" "), "vein: empty; say it in words"),
        (lambda: AccessGained(vein="x", sheath_fr=55.0), "sheath_fr: 55 is not possible; give"),
        (lambda: AccessGained(vein="x", attempts=0), "attempts: 0 is not possible"),
        (lambda: CatheterPositioned(vessel="x", tip_px=(1.0, 2.0)), "tip_px: stated without run"),
        (
            lambda: CatheterPositioned(vessel="x", run="1.2", tip_px=(1.0, float("nan"))),
            "tip_px: not a point",
        ),
        # DICOM PS3.5, 9.1: no component starts with 0 but 0 itself, 64 characters at most.
        (lambda: CatheterPositioned(vessel="x", run="1.02.3"), "run: no DICOM UID; copy"),
        (lambda: FindingMade(found="x", run="1." + "2" * 63), "run: no DICOM UID"),
        (lambda: ChecklistCompleted(checklist="x", items=()), "items: empty; give each question"),
        (lambda: ChecklistItem(question="", answer=Answer.NO), "question: empty"),
        (lambda: DocumentReference(name="a/map.json", sha256=EMPTY), "leave the folder out"),
        (lambda: DocumentReference(name="m", sha256=EMPTY.upper()), "sha256: no SHA-256; give"),
        (lambda: MapMeasured(map=MAP, runs=()), "runs: empty; name the runs"),
        (lambda: MapMeasured(map=MAP, runs=("x",)), "runs: no DICOM UID"),
        (lambda: MapEdited(map=MAP, edited_from=MAP, why="x"), "map: the same as edited_from"),
        (lambda: drug("atropine", 0.0), "dose: 0 is no dose"),
        (lambda: drug("atropine", -1.0), "dose: -1 is not possible"),
        (lambda: drug("atropine", float("nan")), "dose: nan is not possible"),
        (lambda: drug("  Lidocaine "), "drug: .* kept by itself; record it as lidocaine_given"),
        (lambda: drug("Glyceryl  trinitrate"), "record it as nitrate_given"),
        (lambda: drug("midazolam"), "record it as sedative_given"),
        (lambda: CoilMoved(coil=ONE, to=""), "to: empty"),
        (lambda: SpasmSeen(where="x", calibre_mm=0.0), "calibre_mm: 0 is not possible"),
        (lambda: ValsalvaHeld(held_s=-1.0), "held_s: -1 is not possible"),
        (lambda: TroubleSeen(what=" "), "what: empty"),
        (lambda: TroubleSettled(trouble=ONE, how=""), "how: empty"),
        (
            lambda: SignOutCounted(opened=-1, implanted=0, wasted=0, returned=0),
            "opened: -1 is not possible",
        ),
        (lambda: HaemostasisReached(where="x", method=""), "method: empty"),
        (lambda: PatientDischarged(to=""), "to: empty"),
        (lambda: FollowedUp(how="", found="x"), "how: empty"),
        (lambda: NoteWritten(text="\n"), "text: empty"),
        (lambda: EntryCorrected(entry=ONE, why="", payload={}), "why: empty"),
        (
            lambda: EntryCorrected(
                entry=ONE, why="x", payload={}, at=dt.datetime.fromisoformat("2026-03-12T09:00")
            ),
            "at: a time without its zone",
        ),
    ],
)
def test_what_cannot_be_so_cannot_be_built(build: Callable[[], object], sentence: str) -> None:
    with pytest.raises(ImpossibleFact, match=sentence):
        build()


def test_no_word_that_somebody_wrote_is_repeated_in_a_refusal() -> None:
    with pytest.raises(ImpossibleFact, match="record it as") as refused:
        drug("LIGNOCAINE")
    assert "lignocaine" not in str(refused.value).casefold()
    with pytest.raises(ImpossibleFact, match="folder") as refused:
        DocumentReference(name="Invented, Ida/map.json", sha256=EMPTY)
    assert "Ida" not in str(refused.value)
