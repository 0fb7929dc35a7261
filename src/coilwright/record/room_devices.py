"""What became of the packs of a case: from its own stream, batch by batch."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime

from coilwright.record.room import DeviceTotals
from coilwright.record.room_loose import loose_line
from coilwright.record.settled import Line, Loose
from coilwright.record.shelf import CaseUse
from coilwright.record.shelf_facts import (
    DeviceImplanted,
    DeviceOpened,
    DeviceReturned,
    DeviceWasted,
)
from coilwright.record.shelf_pack import Pack, pack_order

DeviceFact = DeviceOpened | DeviceImplanted | DeviceWasted | DeviceReturned
ANOTHER_CASE = "its pack is booked to another case, or to none"
_WORDS: dict[type, str] = {
    DeviceOpened: "opened",
    DeviceImplanted: "implanted",
    DeviceWasted: "wasted",
    DeviceReturned: "returned",
}


def devices_used(
    lines: Iterable[Line], stream: str | None
) -> tuple[tuple[CaseUse, ...], tuple[Loose, ...]]:
    """What this case took of each batch, in the order of the packs; and what names another case."""
    counts: defaultdict[Pack, Counter[str]] = defaultdict(Counter)
    last: dict[tuple[Pack, str], datetime] = {}
    loose = []
    for line in lines:
        fact = line.fact
        if not isinstance(fact, DeviceFact):
            continue
        if fact.case != stream:
            loose.append(loose_line(line, ANOTHER_CASE))
            continue
        word = _WORDS[type(fact)]
        counts[fact.pack][word] += fact.count
        last[fact.pack, word] = line.at
    return tuple(
        CaseUse(
            case=str(stream),
            pack=pack,
            opened=counts[pack]["opened"],
            implanted=counts[pack]["implanted"],
            wasted=counts[pack]["wasted"],
            returned=counts[pack]["returned"],
            opened_at=last.get((pack, "opened")),
            implanted_at=last.get((pack, "implanted")),
        )
        for pack in sorted(counts, key=pack_order)
    ), tuple(loose)


def device_totals(uses: Sequence[CaseUse]) -> DeviceTotals:
    """All batches together."""
    return DeviceTotals(
        opened=sum(use.opened for use in uses),
        implanted=sum(use.implanted for use in uses),
        wasted=sum(use.wasted for use in uses),
        returned=sum(use.returned for use in uses),
    )
