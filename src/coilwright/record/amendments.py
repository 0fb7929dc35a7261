"""Corrections and withdrawals: entries that name an earlier entry of their stream, and say why.

Nothing is edited. A correction stands in the place of the entry that it names, a withdrawal takes
that entry out; the next one names the last, and the record keeps them all.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from coilwright.record.shelf_facts import EntryWithdrawn
from coilwright.record.stated import ImpossibleFact, need_words


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryCorrected:
    """An entry said it wrongly: ``payload`` is the whole of it, as its own kind holds it.

    ``at`` is when it happened, null where the old entry's time was right; when it was corrected is
    the time of this entry itself.
    """

    entry: UUID
    why: str
    payload: dict[str, Any]
    at: datetime | None = None

    def __post_init__(self) -> None:
        need_words("why", self.why)
        if self.at is not None and self.at.tzinfo is None:
            raise ImpossibleFact("at", "a time without its zone", "give the time with its zone")


Change = EntryCorrected | EntryWithdrawn
AMENDMENTS: dict[str, type] = {
    "entry_corrected": EntryCorrected,
    "entry_withdrawn": EntryWithdrawn,
}
