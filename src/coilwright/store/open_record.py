"""The way to a record: a file's path, or a database's URL."""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import URL, Connection, make_url
from sqlalchemy.exc import ArgumentError

from coilwright.store.engine import (
    APPLICATION_ID,
    BACKUP_ID,
    Engines,
    encoding_fault,
    mark_new_file,
    server_engines,
    sqlite_engines,
)
from coilwright.store.placing import new_file
from coilwright.store.problems import (
    AlreadyThere,
    NoDriver,
    NoRecord,
    NotARecord,
    ReadOnlyRecord,
    UnfitDatabase,
    UnreachableRecord,
    told,
)
from coilwright.store.record_store import RecordStore
from coilwright.store.schema import found_version, require_version, upgrade
from coilwright.store.tables import SCHEMA_VERSION

SERVER_DRIVER = "postgresql+psycopg"
# https://www.sqlite.org/fileformat.html, section 1.3
SQLITE_START = b"SQLite format 3\0"
APPLICATION_ID_AT = slice(68, 72)
HEADER_BYTES = 100


def open_record(
    where: Path | str, *, create: bool = False, busy_timeout_s: float = 5.0
) -> RecordStore:
    """Open the record of a file, or of a ``postgresql+psycopg://`` database.

    Parameters
    ----------
    create
        Make an empty record where none is; one that is there is opened as it is.
    busy_timeout_s
        How long to wait while another program writes.

    Raises
    ------
    RecordProblem
        Nothing is there, it is no record, a newer version wrote it, or it cannot be written to.
        Nothing was changed then.
    """
    if is_url(where):
        name, engines = server_of(str(where), busy_timeout_s)
        return _ready(RecordStore(name, engines), engines, create=create)
    return _open_file(Path(where), create, busy_timeout_s)


def _open_file(file: Path, create: bool, busy_timeout_s: float) -> RecordStore:
    name = file.name or str(file)
    if not os.path.lexists(file):
        if not create:
            raise NoRecord(name, "not found")
        _make_file(file, name)
    _check_file(file, name)
    engines = sqlite_engines(file, busy_timeout_s)
    return _ready(RecordStore(name, engines), engines, create=False)


def _check_file(file: Path, name: str) -> None:
    """Look before the database does, which would change a file that is not ours."""
    if not file.is_file():
        raise NotARecord(name, "a folder, not a file" if file.is_dir() else "not a file")
    try:
        with file.open("rb") as stream:
            header = stream.read(HEADER_BYTES)
    except OSError as error:
        raise UnreachableRecord(name, (error.strerror or "cannot be read").lower()) from error
    if not header.startswith(SQLITE_START):
        raise NotARecord(name, "not a database")
    if header[APPLICATION_ID_AT] == BACKUP_ID.to_bytes(4, "big"):
        raise NotARecord(name, "a backup, which is restored before it is used")
    if header[APPLICATION_ID_AT] != APPLICATION_ID.to_bytes(4, "big"):
        raise NotARecord(name, "the database of another program")
    if not (os.access(file, os.W_OK) and os.access(file.parent, os.W_OK)):
        raise ReadOnlyRecord(name, "it or its folder can only be read")


def _make_file(file: Path, name: str) -> None:
    # Where another program was quicker, its record is as good.
    with suppress(AlreadyThere), new_file(file) as draft, told(name), new_record(draft):
        pass


@contextmanager
def new_record(draft: Path, application_id: int = APPLICATION_ID) -> Iterator[Connection]:
    """The transaction that makes the tables in an empty file, for more to be written in it."""
    mark_new_file(draft, application_id)
    engines = sqlite_engines(draft, busy_timeout_s=0.0)
    try:
        with engines.writer.begin() as connection:
            upgrade(connection)
            yield connection
    finally:
        engines.writer.dispose()


def _server_url(text: str) -> URL:
    try:
        url = make_url(text)
    except ArgumentError as error:
        raise NotARecord("database URL", "it cannot be read") from error
    if url.drivername != SERVER_DRIVER or not url.database:
        found = f"not a path, and not {SERVER_DRIVER}://HOST/DATABASE"
        raise NotARecord("database URL", found)
    return url


def server_of(text: str, busy_timeout_s: float) -> tuple[str, Engines]:
    """The database's name and the ways into it.

    Raises
    ------
    RecordProblem
        The URL cannot be used, or nothing is installed that speaks to the server.
    """
    url = _server_url(text)
    name = str(url.database)  # never the URL: it may hold a password
    try:
        return name, server_engines(url, busy_timeout_s)
    except ModuleNotFoundError as error:
        raise NoDriver(name, "psycopg, which speaks to it, is not installed") from error


def is_url(where: Path | str) -> bool:
    """Whether a database's URL is meant, not a file's path."""
    return isinstance(where, str) and "://" in where


def require_fit(connection: Connection, name: str) -> None:
    """Refuse a database that cannot hold every text.

    Raises
    ------
    UnfitDatabase
    """
    fault = encoding_fault(connection)
    if fault is not None:
        raise UnfitDatabase(name, fault)


def _ready(store: RecordStore, engines: Engines, *, create: bool) -> RecordStore:
    """The store, its schema brought up to this program's; closed again where that fails."""
    try:
        with store.reading() as connection:
            version = found_version(connection)
        if version is not None or not create:
            require_version(version, store.name)
        if version != SCHEMA_VERSION:
            with told(store.name), engines.writer.begin() as connection:
                require_fit(connection, store.name)
                upgrade(connection)
    except BaseException:
        store.close()
        raise
    return store
