"""Entries, which nobody edits or deletes, and the head of each stream."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make both tables, and the triggers that keep entries as they are."""
    _make_entries()
    op.create_table(
        "stream_head",
        sa.Column("stream", sa.Text, primary_key=True),
        sa.Column("entries", sa.Integer, sa.CheckConstraint("entries > 0"), nullable=False),
        sa.Column("head_hash", sa.String(64), nullable=False),
    )
    if op.get_bind().dialect.name == "sqlite":
        _guard_on_sqlite()
    else:
        _guard_on_postgresql()


def _guard_on_sqlite() -> None:
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER entry_refuses_{act.lower()} BEFORE {act} ON entry "
            "BEGIN SELECT RAISE(ABORT, 'entry is append-only'); END"
        )


def _guard_on_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION entry_refuses_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$BEGIN RAISE EXCEPTION 'entry is append-only'; END$$"
    )
    op.execute(
        "CREATE TRIGGER entry_refuses_change BEFORE UPDATE OR DELETE OR TRUNCATE ON entry "
        "FOR EACH STATEMENT EXECUTE FUNCTION entry_refuses_change()"
    )


def _make_entries() -> None:
    op.create_table(
        "entry",
        sa.Column("stream", sa.Text, primary_key=True),
        sa.Column(
            "seq", sa.Integer, sa.CheckConstraint("seq >= 0"), primary_key=True, autoincrement=False
        ),
        sa.Column("id", sa.String(36), nullable=False, unique=True),
        sa.Column("at", sa.String(40), nullable=False),
        sa.Column("recorded_at", sa.String(40), nullable=False),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.Column("corrects", sa.String(36), sa.ForeignKey("entry.id"), unique=True),
        sa.Column("previous_hash", sa.String(64), nullable=False),
        sa.Column("hash", sa.String(64), nullable=False),
        sqlite_with_rowid=False,
    )
