"""What entries say once their corrections and withdrawals are applied: lines, and what is loose."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID


@dataclass(frozen=True, slots=True, kw_only=True)
class Amendment:
    """One correction or withdrawal of a line, with who, when and why.

    ``names`` is the entry that it names: the line's own, or an earlier amendment. ``fact`` is what
    a correction states, null for a withdrawal. It does not ``stand`` where it was itself corrected
    or withdrawn, or where a later one has the last word.
    """

    by: UUID
    kind: str
    names: UUID
    why: str
    author: str
    at: datetime
    recorded_at: datetime
    fact: object | None
    stands: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One fact of the record as it counts now; ``first`` is what was stated at first.

    ``at`` is when it happened, as corrected; ``timed`` is false where it tells the day at most,
    since a case file states no instants. ``counts`` is false where it was withdrawn: ``fact`` is
    then what it last said. ``seq`` is the first entry's place in its stream. ``amendments`` stand
    in the order in which they were recorded.
    """

    entry: UUID
    kind: str
    at: datetime
    timed: bool
    recorded_at: datetime
    seq: int
    author: str
    fact: object
    first: object
    counts: bool
    amendments: tuple[Amendment, ...] = ()

    @property
    def last(self) -> UUID:
        """The entry that the next correction or withdrawal names: the one that none names yet."""
        named = {amendment.names for amendment in self.amendments}
        free = [amendment.by for amendment in self.amendments if amendment.by not in named]
        return free[-1] if free else self.entry


@dataclass(frozen=True, slots=True, kw_only=True)
class Loose:
    """An entry that has no effect, since what it names is not there or cannot be meant."""

    entry: UUID
    kind: str
    author: str
    at: datetime
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """Every line in its order, withdrawn ones too, and the amendments that have no effect.

    ``line_of`` gives the first entry of a line for each entry that belongs to it, amendments too.
    """

    lines: tuple[Line, ...]
    loose: tuple[Loose, ...]
    line_of: Mapping[UUID, UUID]

    @property
    def counting(self) -> tuple[Line, ...]:
        """The lines that count."""
        return tuple(line for line in self.lines if line.counts)
