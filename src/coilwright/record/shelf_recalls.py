"""Packs on the shelf that a recall list names."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from coilwright.advice import Advisory
from coilwright.kit import Recall, check_recalled
from coilwright.record.entry import Entry
from coilwright.record.shelf import Batch, Shelf
from coilwright.record.shelf_receipt import udi_of


@dataclass(frozen=True, slots=True, kw_only=True)
class RecalledBatch:
    """A batch of which some lie on the shelf or went into a case, and what the notice says."""

    batch: Batch
    advisories: tuple[Advisory, ...]


def recalled_batches(
    shelf: Shelf, entries: Iterable[Entry], recalls: Collection[Recall]
) -> tuple[RecalledBatch, ...]:
    """Every batch that a recall names, those that were implanted included.

    ``entries`` are the shelf's own: what the scanner sent shows a lot that ran into another field.
    """
    devices = {recall.di.casefold().zfill(14) for recall in recalls}
    named = [b for b in shelf.batches if b.pack.di.casefold().zfill(14) in devices]
    scans = {entry.id: entry.payload.get("scan") or "" for entry in entries} if named else {}
    found = []
    for batch in named:
        scan = "\n".join(filter(None, (scans.get(entry, "") for entry in batch.entries)))
        said = check_recalled(udi_of(batch.pack, scan), recalls)
        if said:
            found.append(RecalledBatch(batch=batch, advisories=said))
    return tuple(found)
