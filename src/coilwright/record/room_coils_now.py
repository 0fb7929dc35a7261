"""Where the coils lie: placed, moved, retrieved."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from coilwright.record.case import Implant
from coilwright.record.room import Coil
from coilwright.record.room_coils import CoilMoved, CoilRetrieved
from coilwright.record.room_loose import loose_line, named_line
from coilwright.record.settled import Line, Loose, Settled


def coils_now(settled: Settled) -> tuple[tuple[Coil, ...], tuple[Loose, ...]]:
    """Every coil that was placed, in the order of placing; and what names no coil."""
    coils = {line.entry: coil for line in settled.counting if (coil := _placed(line)) is not None}
    loose = []
    for line in settled.counting:
        if not isinstance(line.fact, CoilMoved | CoilRetrieved):
            continue
        named = named_line(settled, line.fact.coil, "coil_placed")
        if isinstance(named, str):
            loose.append(loose_line(line, named))
        else:
            coils[named.entry] = _after(coils[named.entry], line.fact, _instant(line))
    return tuple(coils.values()), tuple(loose)


def coils_changed_at(settled: Settled, coils: Iterable[Coil]) -> datetime | None:
    """When a coil was last placed, moved or retrieved: each may disturb the nest.

    Null where no coil lies in place, or where the instant of any of these is not known.

    References
    ----------
    Common practice, no source: the wait before the last run starts anew when a coil changed.
    """
    instants = [
        _instant(line)
        for line in settled.counting
        if isinstance(line.fact, Implant | CoilMoved | CoilRetrieved)
    ]
    known = [instant for instant in instants if instant is not None]
    if all(coil.retrieved for coil in coils) or len(known) < len(instants):
        return None
    return max(known)


def _placed(line: Line) -> Coil | None:
    fact = line.fact
    if not isinstance(fact, Implant):
        return None
    return Coil(
        entry=line.entry,
        level=fact.level,
        device=fact.device,
        lot=fact.lot,
        serial=fact.serial,
        udi=fact.udi,
        placed_at=_instant(line),
    )


def _after(coil: Coil, fact: CoilMoved | CoilRetrieved, at: datetime | None) -> Coil:
    if isinstance(fact, CoilRetrieved):
        return replace(coil, retrieved=True, retrieved_at=at)
    return replace(coil, moves=(*coil.moves, fact.to))


def _instant(line: Line) -> datetime | None:
    return line.at if line.timed else None
