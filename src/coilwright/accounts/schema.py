"""The accounts' own tables in a record's database, brought up to this program's version."""

from pathlib import Path

from sqlalchemy import Connection, inspect, select

from coilwright.accounts.tables import SCHEMA_VERSION, VERSION, VERSION_TABLE
from coilwright.store import NewerRecord, RecordStore
from coilwright.store.schema import ONE_UPGRADE

MIGRATIONS = Path(__file__).parent / "migrations"


def ready_tables(store: RecordStore) -> None:
    """Make or upgrade the tables where they are missing or older; else write nothing.

    Raises
    ------
    RecordProblem
        A newer version made them, or the database cannot be written to.
    """
    with store.reading() as connection:
        version = _found_version(connection)
    if version is not None and version > SCHEMA_VERSION:
        found = f"its accounts' schema is {version}, known here up to {SCHEMA_VERSION}"
        raise NewerRecord(store.name, found)
    if version != SCHEMA_VERSION:
        with store.writing() as connection:
            _upgrade(connection)


def _found_version(connection: Connection) -> str | None:
    if not inspect(connection).has_table(VERSION.name):
        return None
    return connection.execute(select(VERSION.c.version_num)).scalar_one_or_none()


def _upgrade(connection: Connection) -> None:
    """Every migration that the database has not had; another program may have been quicker."""
    # Imported here: it costs 0.25 s, and only a new or an older record needs it.
    from alembic.migration import MigrationContext  # noqa: PLC0415 - see above
    from alembic.operations import Operations  # noqa: PLC0415 - see above
    from alembic.script import ScriptDirectory  # noqa: PLC0415 - see above

    scripts = ScriptDirectory(MIGRATIONS, version_locations=[MIGRATIONS])
    context = MigrationContext.configure(connection, opts={"version_table": VERSION_TABLE})
    missing = list(scripts.iterate_revisions("head", context.get_current_revision() or "base"))
    # Alembic's operations are global to the process: one upgrade at a time, the store's included.
    with ONE_UPGRADE, Operations.context(context):
        for script in reversed(missing):
            script.module.upgrade()
    context.stamp(scripts, "head")
