"""The room, folded from its entries: days worked by hand."""

import datetime as dt
from dataclasses import replace
from uuid import UUID

import pytest

from coilwright.assessment import (
    ContrastGiven,
    LidocaineGiven,
    Patient,
    RadiationGiven,
    SclerosantDrug,
    SclerosantGiven,
)
from coilwright.record import (
    CoilMoved,
    CoilRetrieved,
    ComplicationGraded,
    ComplicationScheme,
    CountDiffers,
    DeviceImplanted,
    DeviceOpened,
    DeviceReturned,
    DeviceWasted,
    Entry,
    EntryCorrected,
    EntryWithdrawn,
    Implant,
    NoteWritten,
    Room,
    SignOutCounted,
    TroubleSeen,
    TroubleSettled,
    chain,
    counted_otherwise,
    fold_case,
    fold_room,
    payload_of,
    sign_out_of,
    since_coils_changed,
)
from coilwright.record.entry import CASE_FILE_AUTHOR
from record.room_entries import CASE, COIL, DAY, WIRE, entry_at, recorded

RING = Implant(level="ring", device="lw-6-140", lot="L1")
UPPER = Implant(level="upper", device="lw-8-140")


def at(minute: float) -> dt.datetime:
    return DAY + dt.timedelta(minutes=minute)


def room_of(*facts: object) -> Room:
    return fold_room(recorded(*facts))


def test_totals_worked_by_hand() -> None:
    room = room_of(
        # 20 mL and 15.5 mL of 300 mgI/mL: 35.5 mL, 10.65 g iodine.
        ContrastGiven(concentration_mgi_per_ml=300.0, volume_ml=20.0),
        ContrastGiven(concentration_mgi_per_ml=300.0, volume_ml=15.5),
        # 8 mL of 1 % and 2 mL of 2 %: 80 + 40 = 120 mg.
        LidocaineGiven(strength_mg_per_ml=10.0, volume_ml=8.0, adrenaline=False),
        LidocaineGiven(strength_mg_per_ml=20.0, volume_ml=2.0, adrenaline=True),
        # 1.5 mL liquid foamed with 6 mL gas, then 0.5 mL liquid: 8 mL, 2 of them liquid.
        SclerosantGiven(
            drug=SclerosantDrug.STS, strength_mg_per_ml=30.0, liquid_ml=1.5, gas_ml=6.0
        ),
        SclerosantGiven(drug=SclerosantDrug.STS, strength_mg_per_ml=30.0, liquid_ml=0.5),
        # The machine shows running totals: the last reading counts, they are not added.
        RadiationGiven(kap_gy_cm2=3.0, fluoroscopy_min=4.5),
        RadiationGiven(kap_gy_cm2=7.25, fluoroscopy_min=11.0, frames=120),
    )
    totals = room.totals
    assert totals.contrast_ml == 35.5
    assert totals.iodine_g == pytest.approx(10.65, rel=1e-12)
    assert totals.lidocaine_mg == 120.0
    assert (totals.sclerosant_ml, totals.sclerosant_liquid_ml) == (8.0, 2.0)
    assert (totals.kap_gy_cm2, totals.fluoroscopy_min, totals.frames) == (7.25, 11.0, 120)


def test_a_total_is_not_rounded_by_the_order_of_its_doses() -> None:
    # 0.1 is no binary number: added up one by one, ten of them miss 1.
    doses = [ContrastGiven(concentration_mgi_per_ml=300.0, volume_ml=0.1)] * 10
    assert sum(dose.volume_ml for dose in doses) != 1.0
    assert room_of(*doses).totals.contrast_ml == 1.0


def test_nothing_recorded_is_an_empty_room() -> None:
    room = fold_room(())
    assert room.totals.contrast_ml == 0.0
    assert room.totals.kap_gy_cm2 is None
    assert (room.timeline, room.coils, room.devices, room.stream) == ((), (), (), None)


def test_an_older_reading_that_was_recorded_late_does_not_take_the_latest_ones_place() -> None:
    late = chain(
        [
            entry_at(30, RadiationGiven(kap_gy_cm2=9.0), number=1),
            entry_at(10, RadiationGiven(kap_gy_cm2=2.0), number=2),
        ]
    )
    assert fold_room(late).totals.kap_gy_cm2 == 9.0


def test_coils_in_place_are_those_placed_less_those_retrieved() -> None:
    room = room_of(
        RING,
        UPPER,
        Implant(level="middle", device="lw-5-50"),
        CoilMoved(coil=UUID(int=2), to="2 cm lower", wanted=False),
        CoilRetrieved(coil=UUID(int=3), how="snare"),
    )
    assert [(coil.level, coil.lies_at) for coil in room.coils_in_place] == [
        ("ring", "ring"),
        ("upper", "2 cm lower"),
    ]
    assert [coil.retrieved_at for coil in room.coils] == [None, None, at(5)]
    assert room.coils[0].lot == "L1"


def test_a_coil_may_be_named_by_the_correction_of_its_entry() -> None:
    right = EntryCorrected(entry=UUID(int=1), why="wrong level", payload=payload_of(UPPER))
    room = room_of(RING, right, CoilMoved(coil=UUID(int=2), to="renal vein"))
    (coil,) = room.coils
    assert (coil.entry, coil.level, coil.lies_at) == (UUID(int=1), "upper", "renal vein")


@pytest.mark.parametrize(
    ("facts", "what"),
    [
        ((CoilMoved(coil=UUID(int=9), to="x"),), "it names an entry that is not there"),
        ((NoteWritten(text="x"), CoilRetrieved(coil=UUID(int=1))), "of another kind than coil_"),
        (
            (RING, EntryWithdrawn(entry=UUID(int=1), why="x"), CoilRetrieved(coil=UUID(int=1))),
            "it names an entry that was withdrawn",
        ),
        ((TroubleSettled(trouble=UUID(int=9), how="x"),), "it names an entry that is not there"),
        ((DeviceOpened(pack=COIL, count=1, case="other"),), "booked to another case"),
    ],
)
def test_what_names_nothing_is_kept_as_loose_and_moves_nothing(
    facts: tuple[object, ...], what: str
) -> None:
    entries = list(recorded(*[NoteWritten(text="last") if f is facts[-1] else f for f in facts]))
    # Written straight into the entry, as a record of another make might hold it.
    kind = {CoilMoved: "coil_moved", CoilRetrieved: "coil_retrieved"}.get(
        type(facts[-1]),
        "trouble_settled" if "trouble" in payload_of(facts[-1]) else "device_opened",
    )
    entries[-1] = replace(entries[-1], kind=kind, payload=payload_of(facts[-1]))
    room = fold_room(entries)
    (loose,) = room.loose
    assert what in loose.what
    assert loose.entry == entries[-1].id
    assert (room.coils_in_place, room.devices, room.open_troubles) == ((), (), ())


def test_the_wait_starts_anew_when_a_coil_is_placed_moved_or_retrieved() -> None:
    placed = (RING, UPPER)  # minutes 1 and 2
    assert since_coils_changed(room_of(*placed), at(12)) == dt.timedelta(minutes=10)
    moved = (*placed, CoilMoved(coil=UUID(int=1), to="lower"))
    assert since_coils_changed(room_of(*moved), at(12)) == dt.timedelta(minutes=9)
    out = (*moved, CoilRetrieved(coil=UUID(int=1)))
    assert since_coils_changed(room_of(*out), at(12)) == dt.timedelta(minutes=8)


def test_no_wait_is_told_where_none_is_known() -> None:
    assert since_coils_changed(room_of(NoteWritten(text="x")), at(12)) is None
    # No coil lies in place.
    assert since_coils_changed(room_of(RING, CoilRetrieved(coil=UUID(int=1))), at(12)) is None
    # The clock of the screen lies behind that of the entry.
    assert since_coils_changed(room_of(RING), at(0)) is None
    # A case file tells the day alone, so the coil has no minute to count from.
    read = [replace(entry, author=CASE_FILE_AUTHOR) for entry in recorded(RING)]
    assert since_coils_changed(fold_room(read), at(12)) is None
    assert fold_room(read).coils[0].placed_at is None


def test_troubles_are_open_until_they_are_settled() -> None:
    facts: tuple[object, ...] = (
        TroubleSeen(what="spasm of the whole trunk"),
        TroubleSeen(what="contrast outside the vein"),
        TroubleSettled(trouble=UUID(int=1), how="nitrate, ten minutes"),
    )
    room = room_of(*facts)
    assert [trouble.what for trouble in room.open_troubles] == ["contrast outside the vein"]
    assert (room.troubles[0].how, room.troubles[0].settled_at) == ("nitrate, ten minutes", at(3))
    # Not settled after all.
    again = room_of(*facts, EntryWithdrawn(entry=UUID(int=3), why="it came back"))
    assert len(again.open_troubles) == 2


def test_a_complication_stands_with_its_scheme_beside_the_trouble() -> None:
    grade = ComplicationGraded(
        what="extravasation",
        scheme=ComplicationScheme.CIRSE_2025,
        grade="1a",
        trouble=UUID(int=1),
    )
    room = room_of(TroubleSeen(what="contrast outside the vein"), grade)
    assert room.complications == (grade,)
    assert room.open_troubles  # grading does not settle it
    assert room.loose == ()


def devices(*more: object) -> Room:
    return room_of(
        DeviceOpened(pack=COIL, count=3, case=CASE),
        DeviceOpened(pack=WIRE, count=1, case=CASE),
        DeviceImplanted(pack=COIL, count=1, case=CASE),
        DeviceWasted(pack=COIL, count=1, reason="kinked", case=CASE),
        *more,
    )


def test_packs_are_counted_batch_by_batch() -> None:
    # Coil: 3 opened, 1 implanted, 1 wasted, 1 open; wire: 1 opened, nothing told of it.
    room = devices()
    assert [use.unaccounted for use in room.devices] == [1, 1]
    assert room.device_totals.unaccounted == 2
    texts = [advisory.text for advisory in sign_out_of(room.devices, CASE)]
    assert texts[0].endswith("opened 3, implanted 1, wasted 1, returned 0: 1 is not accounted for.")


def test_a_sum_of_nought_does_not_hide_a_batch_that_does_not_add_up() -> None:
    # A coil was returned as if it had been two, a wire is missing: 0 in sum, neither is clear.
    room = devices(DeviceReturned(pack=COIL, count=2, case=CASE))
    assert room.device_totals.unaccounted == 0
    assert [use.unaccounted for use in room.devices] == [-1, 1]
    assert len(sign_out_of(room.devices, CASE)) == 2


def test_people_and_entries_are_held_against_each_other_at_sign_out() -> None:
    count = SignOutCounted(opened=4, implanted=2, wasted=1, returned=0, coils_on_last_image=1)
    assert counted_otherwise(devices()) is None
    assert counted_otherwise(devices(count)) == (
        CountDiffers(what="implanted", counted=2, recorded=1),
        CountDiffers(what="coils on the last image", counted=1, recorded=0),
    )
    agreed = replace(count, implanted=1)
    assert counted_otherwise(devices(RING, agreed)) == ()


def test_the_timeline_is_in_the_order_of_happening_and_keeps_what_was_withdrawn() -> None:
    entries: list[Entry] = [
        entry_at(30, NoteWritten(text="late"), number=1),
        entry_at(10, NoteWritten(text="early"), number=2),
        entry_at(40, EntryWithdrawn(entry=UUID(int=2), why="another room"), number=3),
    ]
    timeline = fold_room(chain(entries)).timeline
    assert [line.entry.int for line in timeline] == [2, 1]
    assert [line.counts for line in timeline] == [False, True]
    (amendment,) = timeline[0].amendments
    assert (amendment.why, amendment.author) == ("another room", "Nurse Invented")


def test_the_case_is_folded_from_the_same_entries_corrections_applied() -> None:
    dose = LidocaineGiven(strength_mg_per_ml=10.0, volume_ml=8.0, adrenaline=False)
    right = EntryCorrected(
        entry=UUID(int=2), why="misheard", payload=payload_of(replace(dose, volume_ml=6.0))
    )
    who = entry_at(0, Patient(id="A1", name="Invented, Ida"), number=1, kind="patient_registered")
    entries = [who, *(entry_at(n, f, number=n) for n, f in ((2, dose), (3, RING), (4, right)))]
    entries.append(entry_at(5, TroubleSeen(what="spasm"), number=5))
    case = fold_case(chain(entries))
    # By hand: 6 mL of 1 %.
    assert case.given.lidocaine_mg == 60.0
    assert case.implants == (RING,)
    assert fold_room(chain(entries)).totals.lidocaine_mg == 60.0
