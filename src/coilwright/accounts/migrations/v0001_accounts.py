"""Secrets, sessions, and the access log, which nobody edits or deletes."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables, and the triggers that keep the access log as it is."""
    op.create_table(
        "account_secret",
        sa.Column("name_key", sa.Text, primary_key=True),
        sa.Column("password_hash", sa.Text, nullable=False),
    )
    op.create_table(
        "account_session",
        sa.Column("token_hash", sa.String(64), primary_key=True),
        sa.Column("name_key", sa.Text, nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("last_seen_at", sa.String(32), nullable=False),
        sa.Column("case_open", sa.Boolean, nullable=False),
    )
    op.create_index("ix_account_session_name_key", "account_session", ["name_key"])
    _make_access_log()
    if op.get_bind().dialect.name == "sqlite":
        _guard_on_sqlite()
    else:
        _guard_on_postgresql()


def _make_access_log() -> None:
    op.create_table(
        "access_line",
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("user_name", sa.Text, nullable=False),
        sa.Column("case_id", sa.Text, nullable=False),
        sa.Column("seen", sa.Text, nullable=False),
        sqlite_autoincrement=True,
    )
    op.create_index("access_line_of_case", "access_line", ["case_id", "at"])
    op.create_index("access_line_of_user", "access_line", ["user_name", "at"])
    op.create_index("access_line_of_time", "access_line", ["at"])


def _guard_on_sqlite() -> None:
    for act in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER access_line_refuses_{act.lower()} BEFORE {act} ON access_line "
            "BEGIN SELECT RAISE(ABORT, 'access_line is append-only'); END"
        )


def _guard_on_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION access_line_refuses_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$BEGIN RAISE EXCEPTION 'access_line is append-only'; END$$"
    )
    op.execute(
        "CREATE TRIGGER access_line_refuses_change "
        "BEFORE UPDATE OR DELETE OR TRUNCATE ON access_line "
        "FOR EACH STATEMENT EXECUTE FUNCTION access_line_refuses_change()"
    )
