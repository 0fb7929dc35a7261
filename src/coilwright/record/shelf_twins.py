"""What a case did to the shelf, as entries for the shelf's stream.

Every ``device_…`` entry of a case has a twin in the shelf's stream, with the same payload. A
correction becomes the withdrawal of the old twin and a new one, since the shelf knows withdrawals
alone. Ids follow from the case's, so handing the same case over again adds nothing.
"""

from collections.abc import Iterable, Iterator
from uuid import UUID, uuid5

from coilwright.record.case_kinds import DEVICE_KINDS
from coilwright.record.entry import Entry
from coilwright.record.entry_payload import payload_of
from coilwright.record.settled import Line
from coilwright.record.settling import each_once, settle
from coilwright.record.shelf_entry import SHELF
from coilwright.record.shelf_facts import EntryWithdrawn

# A namespace of our own for uuid5; made once at random.
TWIN_NAMESPACE = UUID("c0b4b1f6-52f3-4f0e-8f0a-7a2d64b1c9e5")


def shelf_twins(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """Drafts for the shelf's stream, of every device entry of the case and all that amends it.

    What names another case than its stream has no twin. Entries that are added to the case later
    change no twin that was made before.

    Raises
    ------
    UnreadableEntry
        As for ``settle``.
    """
    once = each_once(entries)
    return tuple(
        twin
        for line in settle(once.values()).lines
        if line.kind in DEVICE_KINDS
        for twin in _of_line([once[line.entry], *(once[a.by] for a in line.amendments)])
    )


def _of_line(told: list[Entry]) -> Iterator[Entry]:
    """Step by step: what stood on the shelf's side is withdrawn, what counts now is stated."""
    standing: UUID | None = None
    for step, entry in enumerate(told, start=1):
        (line,) = settle(told[:step]).lines
        if standing is not None:
            yield _withdrawal(standing, entry)
        standing = None
        if line.counts and payload_of(line.fact)["case"] == entry.stream:
            standing = uuid5(TWIN_NAMESPACE, str(entry.id))
            yield _twin(standing, entry, line)


def _twin(id: UUID, told_by: Entry, line: Line) -> Entry:
    return Entry(
        id=id,
        stream=SHELF,
        seq=0,
        at=line.at,
        recorded_at=told_by.recorded_at,
        author=told_by.author,
        kind=line.kind,
        payload=payload_of(line.fact),
    )


def _withdrawal(standing: UUID, told_by: Entry) -> Entry:
    return Entry(
        id=uuid5(TWIN_NAMESPACE, f"{told_by.id} withdraws"),
        stream=SHELF,
        seq=0,
        at=told_by.at,
        recorded_at=told_by.recorded_at,
        author=told_by.author,
        kind="entry_withdrawn",
        payload=payload_of(EntryWithdrawn(entry=standing, why=str(told_by.payload["why"]))),
    )
