"""The tables as queries see them; the migrations make them.

Times, ids and payloads are kept as the very text that an entry's hash covers, so that both
databases hand back the same bytes and any altered one shows.
"""

from sqlalchemy import CheckConstraint, Column, ForeignKey, Integer, MetaData, String, Table, Text

SCHEMA_VERSION = "0001"

METADATA = MetaData()

ENTRY = Table(
    "entry",
    METADATA,
    Column("stream", Text, primary_key=True),
    Column("seq", Integer, CheckConstraint("seq >= 0"), primary_key=True, autoincrement=False),
    Column("id", String(36), nullable=False, unique=True),
    Column("at", String(40), nullable=False),
    Column("recorded_at", String(40), nullable=False),
    Column("author", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("payload", Text, nullable=False),
    Column("corrects", String(36), ForeignKey("entry.id"), unique=True),
    Column("previous_hash", String(64), nullable=False),
    Column("hash", String(64), nullable=False),
    # Rows lie in the key's own tree: a stream reads in one sweep, and no second copy of its name
    # can hide an altered one.
    sqlite_with_rowid=False,
)

HEAD = Table(
    "stream_head",
    METADATA,
    Column("stream", Text, primary_key=True),
    Column("entries", Integer, CheckConstraint("entries > 0"), nullable=False),
    Column("head_hash", String(64), nullable=False),
)

# Alembic's own table, of one row.
VERSION = Table("alembic_version", MetaData(), Column("version_num", String(32), primary_key=True))
