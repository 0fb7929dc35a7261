"""Corrections and withdrawals: what counts after them, and what stays to be read."""

import datetime as dt
from dataclasses import replace
from uuid import UUID

import pytest

from coilwright.assessment import ContrastGiven, LidocaineGiven
from coilwright.kit import ImpossibleLabel
from coilwright.record import (
    Entry,
    EntryCorrected,
    EntryWithdrawn,
    NoteWritten,
    UnreadableEntry,
    chain,
    correction_of,
    payload_of,
    settle,
    withdrawal_of,
)
from record.room_entries import DAY, entry_at, recorded


def lidocaine(volume_ml: float) -> LidocaineGiven:
    return LidocaineGiven(strength_mg_per_ml=10.0, volume_ml=volume_ml, adrenaline=False)


def corrected(number: int, fact: object, at: dt.datetime | None = None) -> EntryCorrected:
    return EntryCorrected(entry=UUID(int=number), why="misheard", payload=payload_of(fact), at=at)


def withdrawn(number: int) -> EntryWithdrawn:
    return EntryWithdrawn(entry=UUID(int=number), why="not given")


FIRST = lidocaine(8.0)
SECOND = lidocaine(6.0)
THIRD = lidocaine(4.0)


@pytest.mark.parametrize(
    ("amendments", "counts", "fact"),
    [
        ([], True, FIRST),
        ([corrected(1, SECOND)], True, SECOND),
        ([corrected(1, SECOND), corrected(2, THIRD)], True, THIRD),
        ([withdrawn(1)], False, FIRST),
        ([withdrawn(1), withdrawn(2)], True, FIRST),
        ([withdrawn(1), withdrawn(2), withdrawn(3)], False, FIRST),
        # A withdrawal of a correction takes the line out: it was not so at all.
        ([corrected(1, SECOND), withdrawn(2)], False, SECOND),
        ([corrected(1, SECOND), withdrawn(2), withdrawn(3)], True, SECOND),
        # A correction after a withdrawal says that it was so, rightly told.
        ([withdrawn(1), corrected(2, SECOND)], True, SECOND),
        ([withdrawn(1), withdrawn(2), corrected(3, SECOND)], True, SECOND),
        ([withdrawn(1), withdrawn(2), corrected(3, SECOND), withdrawn(4)], False, SECOND),
        # Two that name one entry: the one recorded last has the last word.
        ([corrected(1, SECOND), corrected(1, THIRD)], True, THIRD),
        ([corrected(1, SECOND), withdrawn(1)], False, FIRST),
        ([withdrawn(1), corrected(1, SECOND)], True, SECOND),
        ([withdrawn(1), corrected(1, SECOND), withdrawn(3), withdrawn(4)], True, SECOND),
    ],
)
def test_what_counts_after_a_row_of_amendments(
    amendments: list[object], counts: bool, fact: LidocaineGiven
) -> None:
    # Each row worked through by hand from the rule at the head of the module.
    (line,) = settle(recorded(FIRST, *amendments)).lines
    assert (line.counts, line.fact, line.first) == (counts, fact, FIRST)
    assert [a.by for a in line.amendments] == [UUID(int=n) for n in range(2, len(amendments) + 2)]


def test_a_correction_stands_in_the_place_and_at_the_time_of_the_old_entry() -> None:
    settled = settle(recorded(FIRST, NoteWritten(text="calm"), corrected(1, SECOND)))
    assert [line.entry for line in settled.lines] == [UUID(int=1), UUID(int=2)]
    assert settled.lines[0].at == DAY + dt.timedelta(minutes=1)


def test_a_corrected_time_moves_the_line() -> None:
    later = DAY + dt.timedelta(minutes=9)
    settled = settle(recorded(FIRST, NoteWritten(text="calm"), corrected(1, FIRST, later)))
    assert [line.entry for line in settled.lines] == [UUID(int=2), UUID(int=1)]
    assert settled.lines[1].at == later


def test_a_corrected_time_stays_through_a_later_correction_of_the_amount() -> None:
    later = DAY + dt.timedelta(minutes=9)
    (line,) = settle(recorded(FIRST, corrected(1, FIRST, later), corrected(2, SECOND))).lines
    assert (line.at, line.fact) == (later, SECOND)


def test_a_correction_stays_listed_with_who_when_and_why() -> None:
    (line,) = settle(recorded(FIRST, corrected(1, SECOND), corrected(2, THIRD))).lines
    one, two = line.amendments
    assert (one.names, one.kind, one.fact, one.stands) == (
        UUID(int=1),
        "entry_corrected",
        SECOND,
        False,
    )
    assert (two.names, two.fact, two.stands) == (UUID(int=2), THIRD, True)
    assert (two.why, two.author) == ("misheard", "Nurse Invented")
    assert two.at == DAY + dt.timedelta(minutes=3)


def test_amendments_apply_whatever_clock_they_were_written_by() -> None:
    # The withdrawal of the withdrawal carries an earlier time: a clock was set back.
    entries = [
        entry_at(10, FIRST, number=1),
        entry_at(12, withdrawn(1), number=2),
        entry_at(3, withdrawn(2), number=3),
    ]
    assert settle(chain(entries)).lines[0].counts


def test_a_correction_of_nothing_is_loose() -> None:
    settled = settle(recorded(FIRST, corrected(77, SECOND), withdrawn(2)))
    assert [line.fact for line in settled.lines] == [FIRST]
    assert [(one.entry, one.what) for one in settled.loose] == [
        (UUID(int=2), "it names an entry that is not there"),
        (UUID(int=3), "it names an entry that is not there"),
    ]


def test_amendments_that_name_one_another_do_not_go_round_for_ever() -> None:
    settled = settle(recorded(FIRST, withdrawn(3), withdrawn(2), withdrawn(3), withdrawn(5)))
    assert settled.lines[0].counts
    assert {one.what for one in settled.loose} == {"it names itself by way of others"}
    assert len(settled.loose) == 4


def test_a_long_row_of_corrections_is_followed_to_its_end() -> None:
    facts = [FIRST, *(corrected(number, lidocaine(number / 100)) for number in range(1, 2_000))]
    (line,) = settle(recorded(*facts)).lines
    assert line.fact == lidocaine(19.99)
    assert line.last == UUID(int=2_000)


@pytest.mark.parametrize(
    ("payload", "sentence"),
    [
        (
            payload_of(NoteWritten(text="x")),
            r"\(lidocaine_given\): strength_mg_per_ml: field required",
        ),
        ({**payload_of(FIRST), "volume_ml": -8.0}, "volume_ml: -8 is not possible"),
    ],
)
def test_a_correction_that_its_kind_does_not_hold_is_refused(
    payload: dict[str, object], sentence: str
) -> None:
    wrong = EntryCorrected(entry=UUID(int=1), why="x", payload=payload)
    with pytest.raises(UnreadableEntry, match=sentence):
        settle(recorded(FIRST, wrong))


def test_two_different_entries_with_one_id_are_refused() -> None:
    entries = chain([entry_at(1, FIRST, number=1), entry_at(1, SECOND, number=1)])
    with pytest.raises(UnreadableEntry, match="two different entries carry the id 0000"):
        settle(entries)


def test_entries_of_two_cases_are_never_added_up() -> None:
    entries = recorded(FIRST, SECOND)
    with pytest.raises(UnreadableEntry, match="fold each stream by itself"):
        settle([entries[0], replace(entries[1], stream="case-other")])


def amended(entries: tuple[Entry, ...], change: object) -> tuple[Entry, ...]:
    number = len(entries) + 1
    return chain([*entries, entry_at(number, change, number=number)])


def test_the_next_amendment_always_names_the_last_so_that_the_store_takes_it() -> None:
    entries = recorded(FIRST)
    changes = (
        lambda line: correction_of(line, SECOND, why="misheard"),
        lambda line: withdrawal_of(line, why="not given"),
        lambda line: withdrawal_of(line, why="it was given"),
        lambda line: correction_of(line, THIRD, why="misread"),
    )
    told = []
    for change in changes:
        (line,) = settle(entries).lines
        entries = amended(entries, change(line))
        (line,) = settle(entries).lines
        told.append((line.counts, line.fact))
    assert told == [(True, SECOND), (False, SECOND), (True, SECOND), (True, THIRD)]
    named = [entry.payload["entry"] for entry in entries[1:]]
    assert len(set(named)) == len(named)


def test_a_correction_never_changes_the_kind() -> None:
    (line,) = settle(recorded(FIRST)).lines
    other = ContrastGiven(concentration_mgi_per_ml=300.0, volume_ml=8.0)
    with pytest.raises(UnreadableEntry, match=r"\(lidocaine_given\): payload: of another kind"):
        correction_of(line, other, why="wrong button")


def test_an_amendment_says_why() -> None:
    (line,) = settle(recorded(FIRST)).lines
    with pytest.raises(ImpossibleLabel, match="why: empty; say it in words"):
        correction_of(line, SECOND, why=" ")
    with pytest.raises(ImpossibleLabel, match="why: empty; say it in words"):
        withdrawal_of(line, why="")
    with pytest.raises(ImpossibleLabel, match="at: a time without its zone"):
        correction_of(line, SECOND, why="x", at=dt.datetime(2026, 3, 12, 9, 0))
