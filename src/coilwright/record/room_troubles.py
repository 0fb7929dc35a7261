"""Trouble as it is seen, how it ended, and the complication that it is graded as."""

from dataclasses import dataclass
from uuid import UUID

from coilwright.record.complication_schemes import SCHEMES, ComplicationScheme, Grade
from coilwright.record.stated import ImpossibleFact, need_words


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleSeen:
    """Something goes wrong; it is open until a ``trouble_settled`` names this entry."""

    what: str
    where: str | None = None
    done: str | None = None

    def __post_init__(self) -> None:
        need_words("what", self.what)
        need_words("where", self.where)
        need_words("done", self.done)


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleSettled:
    """A trouble is over; ``trouble`` is the id of the entry in which it was seen."""

    trouble: UUID
    how: str

    def __post_init__(self) -> None:
        need_words("how", self.how)


@dataclass(frozen=True, slots=True, kw_only=True)
class ComplicationGraded:
    """A complication with its grade, which holds only in the scheme and version that is named.

    ``trouble`` is the entry in which it was seen; null where it came to light without one.
    """

    what: str
    scheme: ComplicationScheme
    grade: str
    trouble: UUID | None = None
    why: str | None = None

    def __post_init__(self) -> None:
        need_words("what", self.what)
        need_words("why", self.why)
        scheme = SCHEMES[self.scheme]
        if self.grade not in scheme.grades:
            mend = f"give one of {', '.join(scheme.grades)}"
            raise ImpossibleFact("grade", f"{scheme.name} has no such grade", mend)

    @property
    def stands_for(self) -> Grade:
        """What the grade stands for in its scheme, and how far that was verified."""
        return SCHEMES[self.scheme].grades[self.grade]
