"""The record in its database: append, read, and nothing else."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, select

from coilwright.record import Entry
from coilwright.store.appending import append_entries
from coilwright.store.engine import Engines
from coilwright.store.heads import StreamHead, heads_in
from coilwright.store.problems import DamagedRecord, told
from coilwright.store.rows import UnreadableRow, entry_of
from coilwright.store.schema import require_version
from coilwright.store.tables import ENTRY, VERSION


class RecordStore:
    """Entries in a database; ``open_record`` makes one. Close it, or use it in a ``with``."""

    def __init__(self, name: str, engines: Engines) -> None:
        self.name = name
        self._engines = engines

    def append(self, entries: Sequence[Entry]) -> tuple[Entry, ...]:
        """Write all the drafts or none, each at the end of its stream.

        Returns
        -------
        The entries as they are stored. One that was there already with the same stream, time,
        author, kind and payload is handed back as it is there.

        Raises
        ------
        RecordProblem
            An id is there with another content, an entry is corrected twice, a correction names
            no entry of its stream, or the database cannot write. Nothing was written then; only
            after LostConnection nobody can know, and the same drafts may be sent again.
        ValueError
            A payload cannot be written as JSON and read back the same.
        """
        with self.writing() as connection:
            return append_entries(connection, entries, self.name)

    def entries(self, stream: str) -> tuple[Entry, ...]:
        """The entries of a stream in their order, times in UTC; none for an unknown stream.

        Raises
        ------
        DamagedRecord
            One cannot be read.
        """
        query = select(ENTRY).where(ENTRY.c.stream == stream).order_by(ENTRY.c.seq)
        with self.reading() as connection:
            try:
                return tuple(entry_of(row) for row in connection.execute(query).mappings())
            except UnreadableRow as error:
                raise DamagedRecord(self.name, "an entry cannot be read") from error

    def streams(self) -> tuple[StreamHead, ...]:
        """Every stream with its count and head hash, by name."""
        with self.reading() as connection:
            return heads_in(connection)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One moment of the record, for the other readers of this package."""
        with told(self.name), self._engines.reader.begin() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """The writer's turn, for tables that others keep beside the entries: all of it or none."""
        with told(self.name), self._engines.writer.begin() as connection:
            # The row makes writers take turns where a database locks rows (SQLite's BEGIN
            # IMMEDIATE has done so by now), and shows an upgrade since the record was opened.
            turn = select(VERSION.c.version_num).with_for_update()
            require_version(connection.execute(turn).scalar_one_or_none(), self.name)
            yield connection

    def close(self) -> None:
        """Let go of the database."""
        self._engines.reader.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()
