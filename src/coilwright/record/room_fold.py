"""The fold of the whole job: entries of one case in, the room out.

Facts are worked through in the order in which they happened, whatever the order of recording. Only
where two happened and were recorded at the same instants does their place in the stream decide.
Nothing that happened is refused: what names an entry that is not there is kept as loose.
"""

from collections.abc import Iterable
from datetime import datetime, timedelta

from coilwright.record.entry import Entry
from coilwright.record.room import Room, Trouble
from coilwright.record.room_closing import SignOutCounted
from coilwright.record.room_coils_now import coils_changed_at, coils_now
from coilwright.record.room_devices import device_totals, devices_used
from coilwright.record.room_loose import loose_line, named_line
from coilwright.record.room_totals import room_totals
from coilwright.record.room_troubles import ComplicationGraded, TroubleSeen, TroubleSettled
from coilwright.record.settled import Line, Loose, Settled
from coilwright.record.settling import settle


def fold_room(entries: Iterable[Entry]) -> Room:
    """The room that the entries of one case add up to; no entry at all is an empty room.

    Raises
    ------
    UnreadableEntry
        As for ``settle``.
    """
    entries = tuple(entries)
    stream = entries[0].stream if entries else None
    settled = settle(entries)
    counting = settled.counting
    devices, of_others = devices_used(counting, stream)
    coils, no_coil = coils_now(settled)
    troubles, no_trouble = _troubles(settled)
    signed = [line.fact for line in counting if isinstance(line.fact, SignOutCounted)]
    return Room(
        stream=stream,
        totals=room_totals(counting),
        devices=devices,
        device_totals=device_totals(devices),
        coils=coils,
        coils_changed_at=coils_changed_at(settled, coils),
        troubles=troubles,
        complications=tuple(
            line.fact for line in counting if isinstance(line.fact, ComplicationGraded)
        ),
        sign_out=signed[-1] if signed else None,
        timeline=tuple(sorted(settled.lines, key=_happened)),
        loose=tuple(sorted((*settled.loose, *of_others, *no_coil, *no_trouble), key=_first)),
    )


def since_coils_changed(room: Room, now: datetime) -> timedelta | None:
    """How long ago a coil was last placed, moved or retrieved.

    Null where that is not known, or where ``now`` lies before it: the clocks then disagree.
    """
    changed_at = room.coils_changed_at
    return None if changed_at is None or now < changed_at else now - changed_at


def _troubles(settled: Settled) -> tuple[tuple[Trouble, ...], tuple[Loose, ...]]:
    troubles = {
        line.entry: Trouble(entry=line.entry, what=line.fact.what, seen_at=line.at)
        for line in settled.counting
        if isinstance(line.fact, TroubleSeen)
    }
    loose = []
    for line in settled.counting:
        fact = line.fact
        if not isinstance(fact, TroubleSettled | ComplicationGraded) or fact.trouble is None:
            continue
        named = named_line(settled, fact.trouble, "trouble_seen")
        if isinstance(named, str):
            loose.append(loose_line(line, named))
        elif isinstance(fact, TroubleSettled):
            troubles[named.entry] = Trouble(
                entry=named.entry,
                what=troubles[named.entry].what,
                seen_at=named.at,
                how=fact.how,
                settled_at=line.at,
            )
    return tuple(troubles.values()), tuple(loose)


def _happened(line: Line) -> tuple[datetime, datetime, int]:
    return (line.at, line.recorded_at, line.seq)


def _first(loose: Loose) -> tuple[datetime, str]:
    return (loose.at, str(loose.entry))
