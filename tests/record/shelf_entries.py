"""Packs and entries of an invented shelf, and the strategies that draw them by chance."""

import datetime as dt
from collections.abc import Sequence
from uuid import UUID

from hypothesis import strategies as st

from coilwright.record.entry import Entry, chain
from coilwright.record.shelf_entry import shelf_entry
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
    ShelfFact,
)
from coilwright.record.shelf_pack import Pack

# Numbers for circulation inside one house (GS1 prefix 040): no real article carries them.
COIL = "00400000000107"
WIRE = "00400000000206"
BATCH = Pack(di=COIL, lot="L1", expiry=dt.date(2027, 3, 31))
LATER = Pack(di=COIL, lot="L2", expiry=dt.date(2028, 3, 31))
UNDATED = Pack(di=WIRE, lot="L1")
ONE = Pack(di=COIL, lot="L1", serial="S1", expiry=dt.date(2027, 3, 31))
DAY = dt.datetime(2026, 3, 12, tzinfo=dt.UTC)


def entry_at(minute: int, fact: ShelfFact, *, number: int | None = None) -> Entry:
    """An entry of what happened at that minute of the day, recorded the day after."""
    return shelf_entry(
        fact,
        id=UUID(int=minute + 1 if number is None else number),
        at=DAY + dt.timedelta(minutes=minute),
        recorded_at=DAY + dt.timedelta(days=1),
        author="Nurse Invented",
    )


def recorded(*facts: ShelfFact) -> tuple[Entry, ...]:
    """Facts that happened a minute apart and were recorded as they happened."""
    return chain([entry_at(minute, fact) for minute, fact in enumerate(facts)])


packs = st.sampled_from([BATCH, LATER, UNDATED, Pack(di=WIRE)])
cases = st.sampled_from(["case-1", "case-2"])
counts = st.integers(1, 5)
pack_facts = st.one_of(
    st.builds(
        DeviceReceived,
        pack=packs,
        count=counts,
        despite=st.none() | st.just(Despite(reason="last one", rules=("udi-expiry",))),
    ),
    st.builds(DeviceOpened, pack=packs, count=counts, case=cases),
    st.builds(DeviceImplanted, pack=packs, count=counts, case=cases),
    st.builds(
        DeviceWasted, pack=packs, count=counts, reason=st.just("dropped"), case=st.none() | cases
    ),
    st.builds(DeviceReturned, pack=packs, count=counts, case=cases),
    st.builds(ShelfCounted, pack=packs, count=st.integers(0, 6)),
    st.builds(
        ShelfAdjusted,
        pack=packs,
        change=st.integers(-4, 4).filter(bool),
        reason=st.just("put into the wrong drawer"),
    ),
)
levels = st.builds(ReorderLevelSet, di=st.sampled_from([COIL, WIRE]), level=st.integers(0, 3))
# Withdrawals of any of the first entries, of themselves, of one another, and of none at all.
withdrawals = st.builds(
    EntryWithdrawn,
    entry=st.integers(1, 14).map(lambda number: UUID(int=number)),
    why=st.just("scanned twice"),
)
facts = st.one_of(pack_facts, pack_facts, levels, withdrawals)


@st.composite
def streams(draw: st.DrawFn) -> tuple[Entry, ...]:
    """Any facts in any order of happening, no two at one instant, recorded in any other order."""
    drawn: Sequence[ShelfFact] = draw(st.lists(facts, max_size=12))
    minutes = draw(st.permutations(range(len(drawn))))
    return chain(
        [
            entry_at(minute, fact, number=number)
            for number, (minute, fact) in enumerate(zip(minutes, drawn, strict=True), start=1)
        ]
    )
