"""Connections to a record's database: the one place that knows SQLite from PostgreSQL."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, NullPool, create_engine, event, text

# Stand in the file's header (https://www.sqlite.org/fileformat.html, offset 68): "CWRC", "CWBK".
APPLICATION_ID = 0x43575243
BACKUP_ID = 0x4357424B
CONNECT_TIMEOUT_S = 10
# Any number will do that all programs of ours share.
SCHEMA_LOCK = APPLICATION_ID


@dataclass(frozen=True, slots=True, kw_only=True)
class Engines:
    """Two ways into one database: a reader sees one moment, a writer waits for its turn."""

    reader: Engine
    writer: Engine


def sqlite_engines(file: Path, busy_timeout_s: float) -> Engines:
    """Engines of a SQLite file that is there."""
    engine = create_engine(
        URL.create("sqlite", database=str(file)),
        connect_args={"timeout": busy_timeout_s},
        hide_parameters=True,
    )
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return Engines(reader=engine, writer=engine.execution_options(takes_turn=True))


def still_engine(file: Path) -> Engine:
    """The engine of a SQLite file that nobody writes to; reading leaves no trace beside it."""
    where = f"{file.absolute().as_uri()}?mode=ro&immutable=1"
    engine = create_engine(
        "sqlite://",
        creator=lambda: sqlite3.connect(where, uri=True),
        poolclass=NullPool,
        hide_parameters=True,
    )
    event.listen(engine, "connect", _read_as_it_stands)
    event.listen(engine, "begin", _begin)
    return engine


def _read_as_it_stands(connection: sqlite3.Connection, _: Any) -> None:
    connection.isolation_level = None  # transactions begin where _begin says so
    # A damaged byte reads as a replacement mark, and the hash then shows it.
    connection.text_factory = lambda raw: raw.decode("utf-8", "replace")


def _set_up(connection: sqlite3.Connection, _: Any) -> None:
    _read_as_it_stands(connection, _)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")  # else REPLACE deletes unseen


def _begin(connection: Connection) -> None:
    # IMMEDIATE: two writers queue at the start, instead of one failing in the middle.
    takes_turn = connection.get_execution_options().get("takes_turn")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if takes_turn else "BEGIN")


def mark_new_file(file: Path, application_id: int = APPLICATION_ID) -> None:
    """Make an empty file a database that says in its header whose it is."""
    connection = sqlite3.connect(file)
    try:
        connection.execute(f"PRAGMA application_id = {application_id}")
    finally:
        connection.close()


def end_writing_ahead(file: Path) -> None:
    """Make a database that is closed one file again, which reads from a read-only disk too."""
    connection = sqlite3.connect(file)
    try:
        connection.execute("PRAGMA journal_mode = DELETE")
    finally:
        connection.close()


def file_fault(connection: Connection) -> str | None:
    """What the database finds wrong with its own file; None where it cannot say."""
    if connection.dialect.name != "sqlite":
        return None
    found = str(connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one())
    return None if found == "ok" else "the file's own structure is damaged"


def server_engines(url: URL, busy_timeout_s: float) -> Engines:
    """Engines of a PostgreSQL database.

    A commit waits for the disk whatever the server's own setting, and a writer that waited for its
    turn sees what the one before it wrote.
    """
    options = f"-c lock_timeout={max(1, round(busy_timeout_s * 1000))} -c synchronous_commit=on"
    engine = create_engine(
        url,
        connect_args={
            "options": options,
            "client_encoding": "utf8",
            "connect_timeout": CONNECT_TIMEOUT_S,
        },
        hide_parameters=True,
        pool_pre_ping=True,  # a server that was started anew meanwhile is no failure
    )
    return Engines(
        reader=engine.execution_options(isolation_level="REPEATABLE READ"),
        writer=engine.execution_options(isolation_level="READ COMMITTED"),
    )


def take_schema_turn(connection: Connection) -> None:
    """Let one program at a time make or change the tables; SQLite's own lock has done so."""
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:key)"), {"key": SCHEMA_LOCK})


def encoding_fault(connection: Connection) -> str | None:
    """Why the database cannot hold every text; None where it can."""
    if connection.dialect.name != "postgresql":
        return None
    encoding = str(connection.exec_driver_sql("SHOW server_encoding").scalar_one())
    return None if encoding == "UTF8" else f"its encoding is {encoding}"
