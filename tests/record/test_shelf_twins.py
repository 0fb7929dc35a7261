"""What a case did to the shelf, told to the shelf's stream."""

from collections.abc import Sequence
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilwright.assessment import LidocaineGiven
from coilwright.record import (
    SHELF,
    DeviceOpened,
    Entry,
    EntryCorrected,
    EntryWithdrawn,
    UnreadableEntry,
    case_entry,
    chain,
    fold_room,
    fold_shelf,
    payload_of,
    shelf_twins,
)
from record.room_entries import CASE, COIL, DAY, KIND_OF, devices, entry_at, recorded

OPENED = DeviceOpened(pack=COIL, count=2, case=CASE)


@st.composite
def cases(draw: st.DrawFn) -> tuple[Entry, ...]:
    """Devices of one case, corrected and withdrawn by chance, each entry named once at most."""
    told: list[Entry] = []
    ends: dict[int, tuple[int, str]] = {}
    for number in range(1, draw(st.integers(1, 12)) + 1):
        fact: object = draw(devices)
        line = draw(st.sampled_from([None, *ends]))
        minute = draw(st.integers(0, 99)) + number / 1000
        if line is None:
            ends[number] = (number, KIND_OF[type(fact)])
        else:
            end, kind = ends[line]
            same = KIND_OF[type(fact)] == kind
            fact = (
                EntryCorrected(entry=UUID(int=end), why="miscounted", payload=payload_of(fact))
                if same
                else EntryWithdrawn(entry=UUID(int=end), why="not so")
            )
            ends[line] = (number, kind)
        told.append(entry_at(minute, fact, number=number))
    return chain(told)


@settings(deadline=None)
@given(cases())
def test_the_shelf_tells_of_the_case_what_the_case_tells_of_itself(
    entries: Sequence[Entry],
) -> None:
    # Two folds that share no code come to the same counts and times.
    assert fold_shelf(chain(shelf_twins(entries))).case_uses == fold_room(entries).devices


@settings(deadline=None)
@given(cases(), st.integers(0, 12))
def test_entries_that_are_added_later_change_no_twin(entries: Sequence[Entry], place: int) -> None:
    before = {twin.id: twin for twin in shelf_twins(entries[:place])}
    after = {twin.id: twin for twin in shelf_twins(entries)}
    assert before.items() <= after.items()


def test_a_twin_has_the_payload_the_time_and_the_author_of_its_entry() -> None:
    (entry,) = recorded(OPENED)
    (twin,) = shelf_twins([entry])
    assert twin.id != entry.id
    assert (twin.stream, twin.kind, twin.payload) == (SHELF, "device_opened", entry.payload)
    assert (twin.at, twin.recorded_at, twin.author) == (entry.at, entry.recorded_at, entry.author)


def test_what_is_no_device_has_no_twin() -> None:
    dose = LidocaineGiven(strength_mg_per_ml=10.0, volume_ml=8.0, adrenaline=False)
    assert shelf_twins(recorded(dose, EntryWithdrawn(entry=UUID(int=1), why="not given"))) == ()


def test_a_pack_of_another_case_is_refused_at_the_door() -> None:
    other = DeviceOpened(pack=COIL, count=1, case="case-other")
    with pytest.raises(UnreadableEntry, match="case: not this stream; name this case"):
        case_entry(
            "device_opened",
            other,
            stream=CASE,
            id=UUID(int=1),
            at=DAY,
            recorded_at=DAY,
            author="Nurse Invented",
        )
