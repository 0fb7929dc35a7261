"""Entries of an invented case in the room, and the strategies that draw them by chance."""

import datetime as dt
from pathlib import Path
from uuid import UUID

from hypothesis import strategies as st

from coilwright.assessment import (
    ContrastGiven,
    LidocaineGiven,
    LocalAnaesthetic,
    NitrateGiven,
    OtherAnaestheticGiven,
    RadiationGiven,
    SclerosantDrug,
    SclerosantGiven,
    Sedative,
    SedativeGiven,
)
from coilwright.record import (
    CASE_KINDS,
    CaseRun,
    ChecklistCompleted,
    DeviceImplanted,
    DeviceOpened,
    DeviceReturned,
    DeviceWasted,
    Entry,
    Implant,
    NoteWritten,
    Pack,
    TroubleSeen,
    case_entry,
    chain,
)
from coilwright.record.room_preparation import Answer, ChecklistItem
from coilwright.veins import Conditions

CASE = "case-invented"
DAY = dt.datetime(2026, 3, 12, 8, 0, tzinfo=dt.UTC)
# Numbers for circulation inside one house (GS1 prefix 040): no real article carries them.
COIL = Pack(di="00400000000107", lot="L1")
WIRE = Pack(di="00400000000206", lot="L2")

# Facts that only one kind holds; three kinds hold a check of the side.
KIND_OF: dict[type, str] = {row.shape: kind for kind, row in CASE_KINDS.items()}


def entry_at(minute: float, fact: object, *, number: int, kind: str | None = None) -> Entry:
    """An entry of what happened at that minute, recorded later that day in its number's turn."""
    return case_entry(
        kind or KIND_OF[type(fact)],
        fact,
        stream=CASE,
        id=UUID(int=number),
        at=DAY + dt.timedelta(minutes=minute),
        recorded_at=DAY + dt.timedelta(hours=12, seconds=number),
        author="Nurse Invented",
    )


def recorded(*facts: object) -> tuple[Entry, ...]:
    """Facts that happened a minute apart; the first has the id 1."""
    return chain(
        [entry_at(number, fact, number=number) for number, fact in enumerate(facts, start=1)]
    )


def number(low: int, high: int) -> st.SearchStrategy[float]:
    """A number with one decimal."""
    return st.integers(low * 10, high * 10).map(lambda tenths: tenths / 10)


packs = st.sampled_from([COIL, WIRE, Pack(di=COIL.di)])
counts = st.integers(1, 4)
doses = st.one_of(
    st.builds(
        ContrastGiven,
        concentration_mgi_per_ml=st.sampled_from([240.0, 300.0, 350.0]),
        volume_ml=number(0, 60),
    ),
    st.builds(
        LidocaineGiven,
        strength_mg_per_ml=st.sampled_from([10.0, 20.0]),
        volume_ml=number(0, 20),
        adrenaline=st.booleans(),
    ),
    st.builds(
        OtherAnaestheticGiven,
        drug=st.sampled_from(LocalAnaesthetic),
        strength_mg_per_ml=st.sampled_from([2.5, 5.0]),
        volume_ml=number(0, 20),
        adrenaline=st.just(False),
    ),
    st.builds(
        SclerosantGiven,
        drug=st.sampled_from(SclerosantDrug),
        strength_mg_per_ml=st.sampled_from([10.0, 30.0]),
        liquid_ml=number(0, 4),
        gas_ml=number(0, 16),
    ),
    st.builds(
        SclerosantGiven,
        drug=st.just(SclerosantDrug.POLIDOCANOL),
        strength_mg_per_ml=st.just(10.0),
        liquid_ml=st.just(0.0),
        microfoam_ml=number(0, 15),
    ),
    st.builds(SedativeGiven, drug=st.sampled_from(Sedative), mass_mg=number(1, 5)),
    st.builds(NitrateGiven, mass_mg=st.sampled_from([0.1, 0.2, 0.3])),
    st.builds(
        RadiationGiven,
        kap_gy_cm2=st.none() | number(0, 90),
        fluoroscopy_min=st.none() | number(0, 60),
        frames=st.none() | st.integers(0, 900),
    ),
    st.builds(
        CaseRun,
        file=st.just(Path("run.dcm")),
        conditions=st.builds(Conditions, volume_ml=st.none() | number(0, 20)),
    ),
)
devices = st.one_of(
    st.builds(DeviceOpened, pack=packs, count=counts, case=st.just(CASE)),
    st.builds(DeviceImplanted, pack=packs, count=counts, case=st.just(CASE)),
    st.builds(
        DeviceWasted, pack=packs, count=counts, reason=st.just("dropped"), case=st.just(CASE)
    ),
    st.builds(DeviceReturned, pack=packs, count=counts, case=st.just(CASE)),
)
others = st.one_of(
    st.builds(Implant, level=st.sampled_from(["ring", "upper"]), device=st.just("lw-6-140")),
    st.builds(TroubleSeen, what=st.sampled_from(["spasm of the whole trunk", "coil half out"])),
    st.builds(NoteWritten, text=st.just("the patient is comfortable")),
    st.just(
        ChecklistCompleted(
            checklist="room 1", items=(ChecklistItem(question="Name said?", answer=Answer.YES),)
        )
    ),
)
facts = st.one_of(doses, devices, others)
