"""Connections to a record's database: the one place that knows SQLite from PostgreSQL."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event

# Stands in the file's header (https://www.sqlite.org/fileformat.html, offset 68): "CWRC".
APPLICATION_ID = 0x43575243


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


def _set_up(connection: sqlite3.Connection, _: Any) -> None:
    connection.isolation_level = None  # transactions begin where _begin says so
    # A damaged byte reads as a replacement mark, and the hash then shows it.
    connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA recursive_triggers = ON")  # else REPLACE deletes unseen


def _begin(connection: Connection) -> None:
    # IMMEDIATE: two writers queue at the start, instead of one failing in the middle.
    takes_turn = connection.get_execution_options().get("takes_turn")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if takes_turn else "BEGIN")


def mark_new_file(file: Path) -> None:
    """Make an empty database that says in its header whose it is."""
    connection = sqlite3.connect(file)
    try:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    finally:
        connection.close()


def file_fault(connection: Connection) -> str | None:
    """What the database finds wrong with its own file; None where it cannot say."""
    if connection.dialect.name != "sqlite":
        return None
    found = str(connection.exec_driver_sql("PRAGMA integrity_check(1)").scalar_one())
    return None if found == "ok" else "the file's own structure is damaged"


def server_engines(url: URL, busy_timeout_s: float) -> Engines:
    """Engines of a PostgreSQL database."""
    options = f"-c lock_timeout={max(1, round(busy_timeout_s * 1000))}"
    engine = create_engine(url, connect_args={"options": options}, hide_parameters=True)
    return Engines(
        reader=engine.execution_options(isolation_level="REPEATABLE READ"), writer=engine
    )
