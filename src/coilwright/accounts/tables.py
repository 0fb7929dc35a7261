"""The tables beside the entries: secrets, sessions, who saw what. The migrations make them.

They are no part of the record's chains, and no export of entries holds them
(docs/decisions/0007). Times are UTC in one spelling, so that text sorts as time does.
"""

from datetime import UTC, datetime

from sqlalchemy import Boolean, Column, Index, Integer, MetaData, String, Table, Text

SCHEMA_VERSION = "0001"
VERSION_TABLE = "accounts_version"

METADATA = MetaData()

SECRET = Table(
    "account_secret",
    METADATA,
    Column("name_key", Text, primary_key=True),
    Column("password_hash", Text, nullable=False),
)

SESSION = Table(
    "account_session",
    METADATA,
    Column("token_hash", String(64), primary_key=True),
    Column("name_key", Text, nullable=False, index=True),
    Column("created_at", String(32), nullable=False),
    Column("last_seen_at", String(32), nullable=False),
    Column("case_open", Boolean, nullable=False),
)

ACCESS = Table(
    "access_line",
    METADATA,
    Column("number", Integer, primary_key=True),
    Column("at", String(32), nullable=False),
    Column("user_name", Text, nullable=False),
    Column("case_id", Text, nullable=False),
    Column("seen", Text, nullable=False),
    Index("access_line_of_case", "case_id", "at"),
    Index("access_line_of_user", "user_name", "at"),
    Index("access_line_of_time", "at"),
    sqlite_autoincrement=True,  # a number is never used again, so a hole shows
)

VERSION = Table(VERSION_TABLE, MetaData(), Column("version_num", String(32), primary_key=True))


def time_text(moment: datetime) -> str:
    """A time as the tables hold it.

    Raises
    ------
    ValueError
        It has no time zone.
    """
    if moment.tzinfo is None:
        raise ValueError("a time needs a time zone")
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def time_of(text: str) -> datetime:
    """The time that a table holds, in UTC."""
    return datetime.fromisoformat(text)
