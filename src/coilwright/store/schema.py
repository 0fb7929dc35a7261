"""The schema's version in a database, and the way to this program's own."""

from pathlib import Path
from threading import Lock

from sqlalchemy import Connection, inspect, select

from coilwright.store.engine import take_schema_turn
from coilwright.store.problems import NewerRecord, NotARecord
from coilwright.store.tables import SCHEMA_VERSION, VERSION

MIGRATIONS = Path(__file__).parent / "migrations"
# Alembic's ``op`` is one for the whole process: two threads would write into each other's database.
ONE_UPGRADE = Lock()


def found_version(connection: Connection) -> str | None:
    """The version that the database holds; None where it holds no record."""
    if not inspect(connection).has_table(VERSION.name):
        return None
    return connection.execute(select(VERSION.c.version_num)).scalar_one_or_none()


def require_version(version: str | None, record: str) -> None:
    """Refuse what this program does not know how to read."""
    if version is None:
        raise NotARecord(record, "it holds no record")
    if version > SCHEMA_VERSION:
        raise NewerRecord(record, f"its schema is {version}, known here up to {SCHEMA_VERSION}")


def upgrade(connection: Connection, migrations: Path = MIGRATIONS) -> None:
    """Run every migration that the database has not had, inside the caller's transaction."""
    # Imported here: it costs 0.25 s, and only a new or an older record needs it.
    from alembic.migration import MigrationContext  # noqa: PLC0415 - see above
    from alembic.operations import Operations  # noqa: PLC0415 - see above
    from alembic.script import ScriptDirectory  # noqa: PLC0415 - see above

    take_schema_turn(connection)
    scripts = ScriptDirectory(migrations, version_locations=[migrations])
    context = MigrationContext.configure(connection)
    missing = list(scripts.iterate_revisions("head", context.get_current_revision() or "base"))
    with ONE_UPGRADE, Operations.context(context):
        for script in reversed(missing):
            script.module.upgrade()
    context.stamp(scripts, "head")
