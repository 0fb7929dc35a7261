"""Who saw which patient's case when: lines added, never changed, read by administrators."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert, select

from coilwright.accounts.accounts import Accounts
from coilwright.accounts.role import Act
from coilwright.accounts.tables import ACCESS, time_of, time_text
from coilwright.accounts.user import User, require

MOST_LINES = 1_000


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessLine:
    """A user saw a case; ``seen`` says in a few words what of it: a page, a report, a download."""

    at: datetime
    user_name: str
    case_id: str
    seen: str

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise ValueError("a line's time needs a time zone")
        if not (self.user_name and self.case_id and self.seen):
            raise ValueError("a line needs a user, a case and what was seen")
        if "\0" in self.user_name + self.case_id + self.seen:
            raise ValueError("a line's texts hold no NUL")


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessQuery:
    """Which lines are asked for; None asks for all. ``before`` is no part of the time asked for."""

    case_id: str | None = None
    user_name: str | None = None
    since: datetime | None = None
    before: datetime | None = None


ALL_LINES = AccessQuery()


def note_access(accounts: Accounts, lines: Sequence[AccessLine]) -> None:
    """Add lines, all or none; to be called before what they tell of is shown.

    Raises
    ------
    RecordProblem
        They cannot be written; then nothing may be shown.
    """
    rows = [
        {
            "at": time_text(line.at),
            "user_name": line.user_name,
            "case_id": line.case_id,
            "seen": line.seen,
        }
        for line in lines
    ]
    if rows:
        with accounts.store.writing() as connection:
            connection.execute(insert(ACCESS), rows)


def access_lines(
    accounts: Accounts, reader: User, query: AccessQuery = ALL_LINES, *, most: int = MOST_LINES
) -> tuple[AccessLine, ...]:
    """The newest lines that were asked for, at most ``most``, newest first.

    Raises
    ------
    NotAllowed
        The reader is no administrator.
    """
    require(reader, Act.READ_ACCESS_LOG)
    wanted = select(ACCESS).order_by(ACCESS.c.at.desc(), ACCESS.c.number.desc()).limit(most)
    if query.case_id is not None:
        wanted = wanted.where(ACCESS.c.case_id == query.case_id)
    if query.user_name is not None:
        wanted = wanted.where(ACCESS.c.user_name == query.user_name)
    if query.since is not None:
        wanted = wanted.where(ACCESS.c.at >= time_text(query.since))
    if query.before is not None:
        wanted = wanted.where(ACCESS.c.at < time_text(query.before))
    with accounts.store.reading() as connection:
        return tuple(
            AccessLine(
                at=time_of(row.at),
                user_name=row.user_name,
                case_id=row.case_id,
                seen=row.seen,
            )
            for row in connection.execute(wanted)
        )
