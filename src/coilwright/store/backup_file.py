"""A backup: the record's own tables in one SQLite file, and a page that says what they hold.

The table ``stream_head`` of that one moment is the manifest. The file is never written again.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Column, Connection, Integer, MetaData, String, Table, insert, select
from sqlalchemy.exc import DBAPIError

from coilwright.store.check import examined
from coilwright.store.engine import BACKUP_ID, still_engine
from coilwright.store.heads import heads_in
from coilwright.store.manifest import Manifest
from coilwright.store.problems import DamagedBackup, NewerRecord, NotABackup, NotARecord
from coilwright.store.schema import found_version, require_version

FORMAT = "coilwright.backup"
FORMAT_VERSION = 1
APPLICATION_ID_AT = slice(68, 72)

COVER = Table(
    "backup",
    MetaData(),
    Column("format", String(40), primary_key=True),
    Column("version", Integer, nullable=False),
    Column("made_at", String(40), nullable=False),
    Column("manifest_sha256", String(64), nullable=False),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup:
    """A backup that is as it was written, open for reading."""

    name: str
    manifest: Manifest
    connection: Connection


def write_cover(connection: Connection, made_at: datetime) -> Manifest:
    """Say in the file what it is, once its entries and heads are there."""
    manifest = Manifest(made_at=made_at, heads=heads_in(connection))
    COVER.create(connection)
    connection.execute(
        insert(COVER).values(
            format=FORMAT,
            version=FORMAT_VERSION,
            made_at=made_at.isoformat(),
            manifest_sha256=manifest.sha256,
        )
    )
    return manifest


@contextmanager
def open_backup(file: Path) -> Iterator[Backup]:
    """Open a backup and prove it, its chains and its manifest, before anybody uses it.

    Raises
    ------
    NotABackup
        Something else is there, nothing, or a backup of a newer version.
    DamagedBackup
        It is not as it was written.
    """
    _require_backup(file)
    engine = still_engine(file)
    try:
        with engine.begin() as connection:
            try:
                manifest = _proven(connection, file.name)
            except DBAPIError as error:
                raise DamagedBackup(file.name, "it cannot be read") from error
            yield Backup(name=file.name, manifest=manifest, connection=connection)
    finally:
        engine.dispose()


def _require_backup(file: Path) -> None:
    try:
        with file.open("rb") as stream:
            header = stream.read(APPLICATION_ID_AT.stop)
    except OSError as error:
        raise NotABackup(file.name, (error.strerror or "cannot be read").lower()) from error
    if header[APPLICATION_ID_AT] != BACKUP_ID.to_bytes(4, "big"):
        raise NotABackup(file.name, "not a backup")


def _proven(connection: Connection, name: str) -> Manifest:
    try:
        require_version(found_version(connection), name)
    except (NotARecord, NewerRecord) as error:
        raise NotABackup(name, error.problem.found) from error
    cover = connection.execute(select(COVER)).one_or_none()
    if cover is None or cover.format != FORMAT:
        raise DamagedBackup(name, "it does not say what it holds")
    if cover.version != FORMAT_VERSION:
        raise NotABackup(name, f"version {cover.version}, known here is {FORMAT_VERSION}")
    manifest = Manifest(made_at=_moment(cover.made_at, name), heads=heads_in(connection))
    if examined(connection).faults or manifest.sha256 != cover.manifest_sha256:
        raise DamagedBackup(name, "it was altered after it was written")
    return manifest


def _moment(text: str, name: str) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except (TypeError, ValueError) as error:
        raise DamagedBackup(name, "it does not say when it was made") from error
