"""Entries, corrections and withdrawals in any order: the fold against a plain recount."""

import random
from datetime import timedelta
from uuid import UUID

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from coilwright.record import (
    CoilMoved,
    CoilRetrieved,
    Entry,
    EntryCorrected,
    EntryWithdrawn,
    Room,
    TroubleSettled,
    chain,
    fold_room,
    payload_of,
)
from record.room_entries import DAY, KIND_OF, devices, doses, entry_at, facts, others
from record.room_recount import Recount, recount

MINUTES = st.integers(0, 300)
# Products are rounded one by one, fractions are not.
ROUNDING = 1e-12


class AnyOrder(RuleBasedStateMachine):
    """One case, written in any order; every entry is named once at most, as the store keeps it."""

    def __init__(self) -> None:
        super().__init__()
        self.entries: list[Entry] = []
        self.ends: dict[UUID, UUID] = {}  # first entry of a line: the entry to name next
        self.kinds: dict[UUID, str] = {}

    def write(self, minute: int, fact: object) -> UUID:
        turn = len(self.entries) + 1
        # A turn's own fraction of a minute: no two happen at one instant.
        self.entries.append(entry_at(minute + turn / 1000, fact, number=turn))
        return UUID(int=turn)

    def state(self, minute: int, fact: object) -> None:
        id = self.write(minute, fact)
        self.ends[id], self.kinds[id] = id, KIND_OF[type(fact)]

    def of_kind(self, kind: str) -> list[UUID]:
        return [id for id, known in self.kinds.items() if known == kind]

    @rule(minute=MINUTES, fact=facts)
    def something_happens(self, minute: int, fact: object) -> None:
        self.state(minute, fact)

    @precondition(lambda self: self.of_kind("coil_placed"))
    @rule(minute=MINUTES, data=st.data(), out=st.booleans())
    def a_coil_goes_elsewhere(self, minute: int, data: st.DataObject, out: bool) -> None:
        coil = data.draw(st.sampled_from([*self.of_kind("coil_placed"), UUID(int=10**6)]))
        to = data.draw(st.sampled_from(["renal vein", "lung"]))
        self.state(minute, CoilRetrieved(coil=coil) if out else CoilMoved(coil=coil, to=to))

    @precondition(lambda self: self.of_kind("trouble_seen"))
    @rule(minute=MINUTES, data=st.data())
    def a_trouble_is_settled(self, minute: int, data: st.DataObject) -> None:
        trouble = data.draw(st.sampled_from(self.of_kind("trouble_seen")))
        self.state(minute, TroubleSettled(trouble=trouble, how="waited"))

    @precondition(lambda self: self.ends)
    @rule(minute=MINUTES, data=st.data(), moved=st.none() | MINUTES)
    def a_line_is_corrected(self, minute: int, data: st.DataObject, moved: int | None) -> None:
        line = data.draw(st.sampled_from(sorted(self.ends)))
        fact = data.draw(st.one_of(doses, devices, others))
        if KIND_OF[type(fact)] != self.kinds[line]:
            first = next(e for e in self.entries if e.id == line)
            payload = dict(first.payload)
        else:
            payload = payload_of(fact)
        # Its own fraction again, so that no two lines come to one instant.
        turn = (len(self.entries) + 1) / 1000
        at = None if moved is None else DAY + timedelta(minutes=moved + turn, seconds=0.01)
        change = EntryCorrected(entry=self.ends[line], why="misheard", payload=payload, at=at)
        self.ends[line] = self.write(minute, change)

    @precondition(lambda self: self.ends)
    @rule(minute=MINUTES, data=st.data())
    def a_line_is_withdrawn(self, minute: int, data: st.DataObject) -> None:
        line = data.draw(st.sampled_from(sorted(self.ends)))
        change = EntryWithdrawn(entry=self.ends[line], why="not so")
        self.ends[line] = self.write(minute, change)

    @invariant()
    def the_fold_is_the_recount(self) -> None:
        if self.entries:
            compare(fold_room(chain(self.entries)), recount(self.entries))

    @precondition(lambda self: self.entries)
    @rule(chance=st.randoms(use_true_random=False))
    def the_order_of_recording_does_not_matter(self, chance: random.Random) -> None:
        otherwise = list(self.entries)
        chance.shuffle(otherwise)
        one, other = fold_room(chain(self.entries)), fold_room(chain([*otherwise, otherwise[0]]))
        assert without_places(one) == without_places(other)

    @invariant()
    def every_entry_is_in_exactly_one_place(self) -> None:
        timeline = fold_room(chain(self.entries)).timeline
        told = [id for line in timeline for id in (line.entry, *(a.by for a in line.amendments))]
        assert sorted(told) == sorted(entry.id for entry in self.entries)


def without_places(room: Room) -> str:
    """The room as text but for the places in the stream, which the order of recording gives."""
    lines = [
        [getattr(line, name) for name in line.__slots__ if name != "seq"] for line in room.timeline
    ]
    rest = [getattr(room, name) for name in room.__slots__ if name != "timeline"]
    return repr((lines, rest))


def compare(room: Room, plain: Recount) -> None:
    totals = room.totals
    for name in (
        "contrast_ml",
        "contrast_in_runs_ml",
        "iodine_g",
        "nitrate_mg",
        "sclerosant_ml",
        "sclerosant_liquid_ml",
    ):
        assert getattr(totals, name) == pytest.approx(float(plain.sums[name]), rel=ROUNDING), name
    masses_mg = dict(totals.other_anaesthetics_mg) | dict(totals.sedatives_mg)
    if "lidocaine" in plain.by_drug:
        masses_mg["lidocaine"] = totals.lidocaine_mg
    else:
        assert totals.lidocaine_mg == 0.0
    by_drug = {drug: float(mass) for drug, mass in plain.by_drug.items()}
    assert masses_mg == pytest.approx(by_drug, rel=ROUNDING)
    assert totals.kap_gy_cm2 == plain.shown.get("kap_gy_cm2")
    assert totals.fluoroscopy_min == plain.shown.get("fluoroscopy_min")
    assert totals.frames == plain.shown.get("frames")
    assert {
        (use.pack.di, use.pack.lot): [use.opened, use.implanted, use.wasted, use.returned]
        for use in room.devices
    } == plain.devices
    assert room.device_totals.unaccounted == sum(
        opened - implanted - wasted - returned
        for opened, implanted, wasted, returned in plain.devices.values()
    )
    assert {coil.entry: coil.lies_at for coil in room.coils_in_place} == plain.coils
    assert room.coils_changed_at == plain.coils_changed_at
    assert {trouble.entry for trouble in room.open_troubles} == plain.open_troubles
    assert [line.entry for line in room.timeline] == plain.order
    assert {line.entry for line in room.timeline if not line.counts} == plain.gone


TestAnyOrder = AnyOrder.TestCase
TestAnyOrder.settings = settings(max_examples=40, stateful_step_count=30, deadline=None)
