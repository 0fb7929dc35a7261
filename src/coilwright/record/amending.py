"""The next correction or withdrawal of a line, naming the entry that the store expects."""

from datetime import datetime

from coilwright.record.amendments import EntryCorrected
from coilwright.record.case_entry import stated_fact
from coilwright.record.entry_payload import UnreadableEntry, payload_of
from coilwright.record.settled import Line
from coilwright.record.shelf_facts import EntryWithdrawn


def correction_of(
    line: Line, fact: object, *, why: str, at: datetime | None = None
) -> EntryCorrected:
    """The line said rightly; ``at`` where the time was wrong too. A withdrawn line counts again.

    Raises
    ------
    UnreadableEntry
        The fact is of another kind than the line, or cannot be so.
    ImpossibleFact
        No reason is given, or a time without its zone.
    """
    if type(fact) is not type(line.first):
        raise UnreadableEntry(f"entry {line.entry} ({line.kind}): payload: of another kind")
    payload = payload_of(fact)
    stated_fact(line.kind, payload, id=line.entry)
    return EntryCorrected(entry=line.last, why=why, payload=payload, at=at)


def withdrawal_of(line: Line, *, why: str) -> EntryWithdrawn:
    """The line is not so; of a line that was withdrawn: it was so after all.

    Raises
    ------
    ImpossibleLabel
        No reason is given.
    """
    return EntryWithdrawn(entry=line.last, why=why)
