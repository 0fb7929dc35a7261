"""The fold of the shelf: laws that hold for any entries in any order, and worked examples."""

import datetime as dt
import random
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilwright.record.case_fold import UnreadableEntry
from coilwright.record.entry import Entry, chain
from coilwright.record.shelf import Batch, Shelf, batches_by_di
from coilwright.record.shelf_facts import (
    Despite,
    DeviceImplanted,
    DeviceOpened,
    DeviceReceived,
    DeviceReturned,
    DeviceWasted,
    EntryWithdrawn,
    ReorderLevelSet,
    ShelfAdjusted,
    ShelfCounted,
)
from coilwright.record.shelf_fold import fold_shelf
from record.shelf_entries import (
    BATCH,
    COIL,
    DAY,
    LATER,
    ONE,
    UNDATED,
    WIRE,
    entry_at,
    recorded,
    streams,
)


def received(count: int) -> DeviceReceived:
    return DeviceReceived(pack=BATCH, count=count)


def opened(count: int) -> DeviceOpened:
    return DeviceOpened(pack=BATCH, count=count, case="case-1")


def the_batch(shelf: Shelf) -> Batch:
    (batch,) = shelf.batches
    return batch


def withdrawn_by_hand(entries: Iterable[Entry]) -> set[str]:
    """Ids that a withdrawal names, unless a later withdrawal names that withdrawal."""
    out: set[str] = set()
    for entry in sorted(entries, key=lambda entry: entry.at, reverse=True):
        if entry.kind == "entry_withdrawn" and str(entry.id) not in out:
            out.add(entry.payload["entry"])
    return out


def counted_by_hand(entries: Sequence[Entry]) -> dict[str, tuple[int, int]]:
    """What lies on the shelf and what is owed, recounted from the bare payloads.

    A second way to the same numbers: no totals, no differences, one number a batch that goes up,
    down, or is overwritten by a count.
    """
    out = withdrawn_by_hand(entries)
    number: dict[str, int] = {}
    for entry in sorted(entries, key=lambda entry: entry.at):
        if str(entry.id) in out or "pack" not in entry.payload:
            continue
        pack = repr(sorted(entry.payload["pack"].items()))
        now = number.setdefault(pack, 0)
        off_shelf = entry.kind == "device_wasted" and entry.payload["case"] is None
        if entry.kind in ("device_received", "device_returned"):
            now += entry.payload["count"]
        elif entry.kind == "device_opened" or off_shelf:
            now -= entry.payload["count"]
        elif entry.kind == "shelf_adjusted":
            now += entry.payload["change"]
        elif entry.kind == "shelf_counted":
            now = entry.payload["count"]
        number[pack] = now
    return {pack: (max(now, 0), max(-now, 0)) for pack, now in number.items()}


@given(streams())
def test_no_order_of_entries_makes_a_count_negative(entries: tuple[Entry, ...]) -> None:
    for batch in fold_shelf(entries).batches:
        counts = (batch.on_shelf, batch.owed, batch.received, batch.opened, batch.implanted)
        ends = (batch.wasted, batch.wasted_in_cases, batch.returned, batch.found, batch.missing)
        assert min(*counts, *ends) >= 0
        assert 0 in (batch.on_shelf, batch.owed)


@given(streams())
def test_what_came_in_is_on_the_shelf_or_went_out(entries: tuple[Entry, ...]) -> None:
    # The books of one batch, every term summed here from the payloads but the counts' differences.
    out = withdrawn_by_hand(entries)
    for batch in fold_shelf(entries).batches:
        own = [e for e in entries if e.id in batch.entries]
        assert not out & {str(e.id) for e in own}
        sums: Counter[str] = Counter()
        for entry in own:
            off_shelf = entry.kind == "device_wasted" and entry.payload["case"] is None
            kind = "off_shelf" if off_shelf else entry.kind
            sums[kind] += entry.payload.get("count", entry.payload.get("change", 0))
        booked_in = sums["device_received"] + sums["device_returned"] + sums["shelf_adjusted"]
        went_out = sums["device_opened"] + sums["off_shelf"]
        left = batch.on_shelf - batch.owed
        assert booked_in + batch.found - batch.missing == left + went_out
        assert sums["device_implanted"] == batch.implanted
        assert sums["device_wasted"] == batch.wasted_in_cases


@given(streams())
def test_every_entry_is_in_exactly_one_place(entries: tuple[Entry, ...]) -> None:
    shelf = fold_shelf(entries)
    counting = [id for batch in shelf.batches for id in batch.entries]
    setting = [id for level in shelf.reorder_levels for id in level.entries]
    withdrawals = [w.by for w in shelf.withdrawn]
    gone = {
        w.entry for w in shelf.withdrawn if w.stands and w.kind not in (None, "entry_withdrawn")
    }
    places = [*counting, *setting, *withdrawals, *gone]
    assert sorted(places) == sorted(entry.id for entry in entries)


@given(streams(), st.randoms(use_true_random=False))
def test_the_order_of_recording_does_not_matter(
    entries: tuple[Entry, ...], chance: random.Random
) -> None:
    otherwise = list(entries)
    chance.shuffle(otherwise)
    assert fold_shelf(chain(otherwise)) == fold_shelf(entries)


@given(streams())
def test_the_shelf_is_that_of_a_plain_recount(entries: tuple[Entry, ...]) -> None:
    shelf = fold_shelf(entries)
    folded = {
        repr(
            sorted(
                {
                    "di": batch.pack.di,
                    "lot": batch.pack.lot,
                    "serial": batch.pack.serial,
                    "expiry": batch.pack.expiry and batch.pack.expiry.isoformat(),
                }.items()
            )
        ): (batch.on_shelf, batch.owed)
        for batch in shelf.batches
    }
    assert folded == counted_by_hand(entries)


@given(streams())
def test_an_entry_sent_twice_counts_once(entries: tuple[Entry, ...]) -> None:
    assert fold_shelf(chain([*entries, *entries])) == fold_shelf(entries)


@given(streams(), st.integers(0, 11))
def test_withdrawing_an_entry_leaves_the_shelf_as_if_it_had_never_been(
    entries: tuple[Entry, ...], place: int
) -> None:
    facts = [e for e in entries if e.kind != "entry_withdrawn"]
    if not facts:
        return
    gone = facts[place % len(facts)]
    last = entry_at(9_999, EntryWithdrawn(entry=gone.id, why="scanned twice"))
    shelf = fold_shelf(chain([*facts, last]))
    without = fold_shelf(chain([e for e in facts if e is not gone]))
    assert shelf.batches == without.batches
    assert shelf.case_uses == without.case_uses
    assert shelf.reorder_levels == without.reorder_levels
    assert [w.entry for w in shelf.withdrawn] == [gone.id]


@given(streams())
def test_what_the_cases_took_is_what_the_batches_lost(entries: tuple[Entry, ...]) -> None:
    shelf = fold_shelf(entries)
    for batch in shelf.batches:
        uses = [use for use in shelf.case_uses if use.pack == batch.pack]
        assert sum(use.opened for use in uses) == batch.opened
        assert sum(use.implanted for use in uses) == batch.implanted
        assert sum(use.wasted for use in uses) == batch.wasted_in_cases
        assert sum(use.returned for use in uses) == batch.returned


def test_a_day_worked_by_hand() -> None:
    # 5 in, 2 opened, 1 of them implanted, 1 back unused, 1 thrown away: 5 - 2 + 1 - 1 = 3.
    batch = the_batch(
        fold_shelf(
            recorded(
                received(5),
                opened(2),
                DeviceImplanted(pack=BATCH, count=1, case="case-1"),
                DeviceReturned(pack=BATCH, count=1, case="case-1"),
                DeviceWasted(pack=BATCH, count=1, reason="expired"),
            )
        )
    )
    assert (batch.on_shelf, batch.owed) == (3, 0)
    assert (batch.received, batch.opened, batch.implanted) == (5, 2, 1)
    assert (batch.returned, batch.wasted, batch.wasted_in_cases) == (1, 1, 0)


def test_what_was_taken_beyond_the_books_is_owed_until_a_delivery_is_booked() -> None:
    taken = recorded(received(1), opened(3))
    batch = the_batch(fold_shelf(taken))
    assert (batch.on_shelf, batch.owed) == (0, 2)
    assert batch.notice == "2 more taken than booked in: count the shelf"
    batch = the_batch(fold_shelf(recorded(received(1), opened(3), received(5))))
    assert (batch.on_shelf, batch.owed, batch.notice) == (3, 0, None)


def test_what_is_wasted_in_a_case_left_the_shelf_when_it_was_opened() -> None:
    facts = (received(2), opened(1))
    in_case = DeviceWasted(pack=BATCH, count=1, reason="kinked", case="case-1")
    assert the_batch(fold_shelf(recorded(*facts, in_case))).on_shelf == 1
    off_shelf = replace(in_case, case=None)
    assert the_batch(fold_shelf(recorded(*facts, off_shelf))).on_shelf == 0


def test_a_count_of_the_shelf_sets_the_balance_and_keeps_the_difference() -> None:
    fewer = the_batch(fold_shelf(recorded(received(5), ShelfCounted(pack=BATCH, count=4))))
    assert (fewer.on_shelf, fewer.found, fewer.missing) == (4, 0, 1)
    assert fewer.counted_at == DAY + dt.timedelta(minutes=1)
    # 2 owed and 3 there: 5 more than the books had.
    more = the_batch(fold_shelf(recorded(opened(2), ShelfCounted(pack=BATCH, count=3))))
    assert (more.on_shelf, more.owed, more.found, more.missing) == (3, 0, 5, 0)


def test_an_opening_recorded_after_a_count_falls_into_its_place_before_it() -> None:
    # The count already saw that the pack was gone: it is not taken off a second time.
    late = chain(
        [
            entry_at(0, received(5)),
            entry_at(20, ShelfCounted(pack=BATCH, count=4)),
            entry_at(10, opened(1)),
        ]
    )
    batch = the_batch(fold_shelf(late))
    assert (batch.on_shelf, batch.found, batch.missing) == (4, 0, 0)
    assert batch.entries == (UUID(int=1), UUID(int=11), UUID(int=21))


def test_of_two_at_one_instant_the_one_recorded_first_goes_first() -> None:
    count = entry_at(0, ShelfCounted(pack=BATCH, count=4), number=1)
    delivery = entry_at(0, received(5), number=2)
    assert the_batch(fold_shelf(chain([count, delivery]))).on_shelf == 9
    assert the_batch(fold_shelf(chain([delivery, count]))).on_shelf == 4


def test_the_same_instant_in_another_time_zone_is_in_the_same_place() -> None:
    entries = recorded(received(5), ShelfCounted(pack=BATCH, count=4), opened(1))
    there = dt.timezone(dt.timedelta(hours=-9))
    moved = [replace(entries[0], at=entries[0].at.astimezone(there)), *entries[1:]]
    assert fold_shelf(moved) == fold_shelf(entries)


def test_an_adjustment_moves_the_count_by_what_it_says() -> None:
    fewer = ShelfAdjusted(pack=BATCH, change=-2, reason="lent to another room")
    batch = the_batch(fold_shelf(recorded(received(5), fewer)))
    assert (batch.on_shelf, batch.adjusted) == (3, -2)


def test_a_withdrawal_stays_in_the_list_with_who_when_and_why() -> None:
    again = EntryWithdrawn(entry=UUID(int=2), why="scanned twice")
    shelf = fold_shelf(recorded(received(5), received(5), again))
    assert the_batch(shelf).on_shelf == 5
    (gone,) = shelf.withdrawn
    assert (gone.entry, gone.by, gone.kind) == (UUID(int=2), UUID(int=3), "device_received")
    assert (gone.pack, gone.why, gone.author) == (BATCH, "scanned twice", "Nurse Invented")
    assert gone.at == DAY + dt.timedelta(minutes=2)
    assert gone.stands


def test_a_withdrawal_that_was_withdrawn_later_lets_its_entry_count_again() -> None:
    wrong = EntryWithdrawn(entry=UUID(int=1), why="wrong case")
    back = EntryWithdrawn(entry=UUID(int=2), why="it was right")
    shelf = fold_shelf(recorded(received(5), wrong, back))
    assert the_batch(shelf).on_shelf == 5
    assert [w.stands for w in shelf.withdrawn] == [False, True]


def test_withdrawals_that_name_one_another_do_not_go_round_for_ever() -> None:
    # The later one is the last word: the first does not stand, so the delivery counts.
    shelf = fold_shelf(
        recorded(
            received(5),
            EntryWithdrawn(entry=UUID(int=3), why="a"),
            EntryWithdrawn(entry=UUID(int=2), why="b"),
        )
    )
    assert the_batch(shelf).on_shelf == 5
    assert [w.stands for w in shelf.withdrawn] == [False, True]


def test_a_withdrawal_of_what_the_record_does_not_hold_says_so() -> None:
    nothing = EntryWithdrawn(entry=UUID(int=77), why="slip")
    (gone,) = fold_shelf(recorded(nothing)).withdrawn
    assert (gone.kind, gone.pack, gone.stands) == (None, None, True)


def test_the_last_level_set_counts_and_the_earlier_ones_are_kept() -> None:
    shelf = fold_shelf(
        recorded(ReorderLevelSet(di=COIL, level=4), ReorderLevelSet(di=COIL, level=2))
    )
    (level,) = shelf.reorder_levels
    assert (level.level, level.entries) == (2, (UUID(int=1), UUID(int=2)))


def test_packs_that_differ_in_anything_are_batches_of_their_own() -> None:
    shelf = fold_shelf(
        recorded(*(DeviceReceived(pack=pack, count=1) for pack in (UNDATED, LATER, ONE, BATCH)))
    )
    assert [batch.pack for batch in shelf.batches] == [BATCH, ONE, LATER, UNDATED]
    assert {di: len(found) for di, found in batches_by_di(shelf).items()} == {COIL: 3, WIRE: 1}


def test_one_serial_number_booked_in_twice_is_told() -> None:
    once = DeviceReceived(pack=ONE, count=1)
    assert the_batch(fold_shelf(recorded(once))).notice is None
    notice = the_batch(fold_shelf(recorded(once, once))).notice
    assert notice == "2 booked in with one serial number: count the shelf"


def test_what_was_received_despite_a_warning_stays_with_its_batch() -> None:
    despite = Despite(reason="no other left", rules=("udi-expiry",))
    warned = DeviceReceived(pack=BATCH, count=1, despite=despite)
    assert the_batch(fold_shelf(recorded(received(1), warned))).despite == (despite,)


def test_no_entry_is_an_empty_shelf() -> None:
    assert fold_shelf(()) == Shelf()


def test_two_different_entries_with_one_id_are_refused() -> None:
    entries = chain([entry_at(0, received(1), number=1), entry_at(1, received(2), number=1)])
    with pytest.raises(UnreadableEntry, match="two different entries carry the id 0000"):
        fold_shelf(entries)


def test_a_batch_that_does_not_add_up_cannot_be_built() -> None:
    batch = the_batch(fold_shelf(recorded(received(5))))
    with pytest.raises(ValueError, match="does not add up"):
        replace(batch, on_shelf=4)
