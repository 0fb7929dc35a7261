"""A record made again from a backup, proven before anybody can open it."""

from pathlib import Path

from sqlalchemy import Connection

from coilwright.store.backup import copy_rows
from coilwright.store.backup_file import Backup, open_backup
from coilwright.store.check import examined
from coilwright.store.heads import heads_in
from coilwright.store.manifest import Manifest
from coilwright.store.open_record import is_url, new_record, require_fit, server_of
from coilwright.store.placing import new_file
from coilwright.store.problems import AlreadyThere, DamagedRecord, told
from coilwright.store.schema import found_version, upgrade


def restore_record(file: Path, where: Path | str, *, busy_timeout_s: float = 5.0) -> Manifest:
    """Make a record from a backup where none is: a new file, or the tables of an empty database.

    Raises
    ------
    RecordProblem
        It is no sound backup, something is there already, or it cannot be written to. Nothing was
        changed then.
    """
    with open_backup(file) as backup:
        if is_url(where):
            _fill_server(str(where), backup, busy_timeout_s)
        else:
            _fill_file(Path(where), backup)
        return backup.manifest


def _fill_file(place: Path, backup: Backup) -> None:
    with new_file(place) as draft, told(place.name), new_record(draft) as connection:
        _fill(connection, backup, place.name)


def _fill_server(url: str, backup: Backup, busy_timeout_s: float) -> None:
    name, engines = server_of(url, busy_timeout_s)
    try:
        with told(name), engines.writer.begin() as connection:
            if found_version(connection) is not None:
                raise AlreadyThere(name, "the database holds a record already")
            require_fit(connection, name)
            upgrade(connection)
            _fill(connection, backup, name)
    finally:
        engines.reader.dispose()


def _fill(connection: Connection, backup: Backup, name: str) -> None:
    """Copy and prove inside the caller's transaction, which falls with any error."""
    copy_rows(backup.connection, connection, backup.name)
    if examined(connection).faults or heads_in(connection) != backup.manifest.heads:
        raise DamagedRecord(name, "it did not keep what the backup holds; nothing was restored")
