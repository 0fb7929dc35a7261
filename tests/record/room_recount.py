"""The room counted again from bare payloads: line by line forward, sums of fractions.

A second way to the same numbers. It reads no fact, folds nothing and knows no kind but by name.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from fractions import Fraction
from typing import Any
from uuid import UUID

from coilwright.record import Entry

AMENDING = ("entry_corrected", "entry_withdrawn")


@dataclass
class Recount:
    """What the entries come to."""

    sums: dict[str, Fraction] = field(default_factory=lambda: defaultdict(Fraction))
    by_drug: dict[str, Fraction] = field(default_factory=lambda: defaultdict(Fraction))
    shown: dict[str, Any] = field(default_factory=dict)
    devices: dict[tuple[str, str | None], list[int]] = field(default_factory=dict)
    coils: dict[UUID, str] = field(default_factory=dict)
    coils_changed_at: datetime | None = None
    open_troubles: set[UUID] = field(default_factory=set)
    order: list[UUID] = field(default_factory=list)
    gone: set[UUID] = field(default_factory=set)


@dataclass
class Stand:
    """One line at one moment of its history."""

    counts: bool
    payload: dict[str, Any]
    at: datetime


def stands(first: Entry, naming: dict[str, Entry]) -> Stand:
    """How a line stands in the end, from its first entry on."""
    history = [Stand(True, dict(first.payload), first.at)]
    kinds = [first.kind]
    here = first
    while str(here.id) in naming:
        here = naming[str(here.id)]
        before = history[-1]
        if here.kind == "entry_corrected":
            at = here.payload["at"]
            when = before.at if at is None else datetime.fromisoformat(at)
            history.append(Stand(True, here.payload["payload"], when))
        elif kinds[-1] == "entry_withdrawn":
            history.append(history[-2])
        else:
            history.append(Stand(False, before.payload, before.at))
        kinds.append(here.kind)
    return history[-1]


def recount(entries: Iterable[Entry]) -> Recount:
    """Everything, from entries in any order; each is named once at most."""
    entries = list(entries)
    naming = {e.payload["entry"]: e for e in entries if e.kind in AMENDING}
    firsts = [e for e in entries if e.kind not in AMENDING]
    ends = {e.id: stands(e, naming) for e in firsts}
    found = Recount()
    found.gone = {id for id, end in ends.items() if not end.counts}
    firsts.sort(key=lambda e: ends[e.id].at)
    found.order = [e.id for e in firsts]
    live = [(e.id, e.kind, ends[e.id].payload, ends[e.id].at) for e in firsts if ends[e.id].counts]
    for id, kind, payload, at in live:
        count_one(found, id, kind, payload, at)
    link(found, live)
    return found


def count_one(found: Recount, id: UUID, kind: str, p: dict[str, Any], at: datetime) -> None:
    """One entry that counts, after all that happened before it."""
    count_dose(found, kind, p)
    if kind == "radiation_recorded":
        found.shown = p
    elif kind.startswith("device_"):
        place = ["opened", "implanted", "wasted", "returned"].index(kind.removeprefix("device_"))
        pack = (p["pack"]["di"], p["pack"]["lot"])
        found.devices.setdefault(pack, [0, 0, 0, 0])[place] += p["count"]
    elif kind == "coil_placed":
        found.coils[id] = p["level"]
    elif kind == "trouble_seen":
        found.open_troubles.add(id)
    if kind in ("coil_placed", "coil_moved", "coil_retrieved"):
        found.coils_changed_at = at


def count_dose(found: Recount, kind: str, p: dict[str, Any]) -> None:
    """What one entry adds to a sum."""
    if kind in ("lidocaine_given", "other_anaesthetic_given"):
        mass = Fraction(p["strength_mg_per_ml"]) * Fraction(p["volume_ml"])
        found.by_drug[p.get("drug", "lidocaine")] += mass
    elif kind == "contrast_given":
        found.sums["contrast_ml"] += Fraction(p["volume_ml"])
        iodine = Fraction(p["concentration_mgi_per_ml"]) * Fraction(p["volume_ml"])
        found.sums["iodine_g"] += iodine / 1000
    elif kind == "sclerosant_given":
        found.sums["sclerosant_liquid_ml"] += Fraction(p["liquid_ml"])
        for part in ("liquid_ml", "gas_ml", "microfoam_ml"):
            found.sums["sclerosant_ml"] += Fraction(p[part])
    elif kind == "sedative_given":
        found.by_drug[p["drug"]] += Fraction(p["mass_mg"])
    elif kind == "nitrate_given":
        found.sums["nitrate_mg"] += Fraction(p["mass_mg"])
    elif kind == "run_received":
        found.sums["contrast_in_runs_ml"] += Fraction(p["conditions"]["volume_ml"] or 0)


def link(found: Recount, live: list[tuple[UUID, str, dict[str, Any], datetime]]) -> None:
    """What became of coils and troubles, once all of them are known."""
    for _, kind, p, _ in live:
        if kind == "coil_moved" and UUID(p["coil"]) in found.coils:
            found.coils[UUID(p["coil"])] = p["to"]
        if kind == "trouble_settled":
            found.open_troubles.discard(UUID(p["trouble"]))
    for _, kind, p, _ in live:
        if kind == "coil_retrieved":
            found.coils.pop(UUID(p["coil"]), None)
    if not found.coils:
        found.coils_changed_at = None
