"""A place for a record on either database, and what somebody with every right can do there."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from store.postgresql_server import Server


class Place(Protocol):
    """Where a record can be; nothing is there at first."""

    @property
    def where(self) -> Path | str:
        """As `open_record` takes it."""

    @property
    def name(self) -> str:
        """As messages name it."""

    def run(self, act: str) -> list[tuple[Any, ...]]:
        """Run a statement past the program."""

    def unguard(self) -> None:
        """Take the guards off that keep entries as they are."""


@dataclass(frozen=True, slots=True)
class FilePlace:
    """A SQLite file."""

    where: Path

    @property
    def name(self) -> str:
        return self.where.name

    def run(self, act: str) -> list[tuple[Any, ...]]:
        connection = sqlite3.connect(self.where)
        try:
            with connection:
                return connection.execute(act).fetchall()
        finally:
            connection.close()

    def unguard(self) -> None:
        self.run("DROP TRIGGER entry_refuses_update")
        self.run("DROP TRIGGER entry_refuses_delete")


@dataclass(frozen=True, slots=True)
class ServerPlace:
    """A database of a PostgreSQL server."""

    server: Server
    name: str

    @property
    def where(self) -> str:
        return self.server.url(self.name)

    def run(self, act: str) -> list[tuple[Any, ...]]:
        return self.server.run(act, database=self.name)

    def unguard(self) -> None:
        self.run("DROP TRIGGER entry_refuses_change ON entry")
