"""What keeps a record from being used, and what a database's own errors mean.

RecordProblem (an InputError)
├── NoRecord            nothing is there
├── NotARecord          something else is there
├── AlreadyThere        something is there where a new one is to be made
├── NotABackup          no backup, or one of a newer version
├── DamagedBackup       a backup that is not as it was written
├── NoDriver            what speaks to the server is not installed
├── UnfitDatabase       a database that cannot hold every text
├── NewerRecord         written by a newer version
├── ReadOnlyRecord      cannot be written to
├── LockedRecord        another program holds it
├── FullDisk            no room left
├── DamagedRecord       its content cannot be read
├── UnreachableRecord   the file or the server cannot be opened
├── LostConnection      the server went away in the middle
├── EntryConflict       an id is there already with another content
├── CorrectionConflict  the entry was corrected or withdrawn already
└── UnknownEntry        a correction names an entry that its stream does not hold
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import ClassVar

from sqlalchemy.exc import DBAPIError

from coilwright.errors import InputError, Problem


class RecordProblem(InputError):
    """A record cannot be used: names it, the field and the mend."""

    field: ClassVar[str] = "record"
    mend: ClassVar[str]

    def __init__(self, record: str, found: str) -> None:
        self.record = record
        self.problem = Problem(field=self.field, found=found, mend=self.mend)
        super().__init__(record, found)

    def __str__(self) -> str:
        return f"{self.record}: {self.problem}."


class NoRecord(RecordProblem):
    """Nothing is there."""

    mend = "name the file or database that holds it, or make a new one"


class NotARecord(RecordProblem):
    """Something else is there."""

    mend = "name the file or database that holds the record"


class AlreadyThere(RecordProblem):
    """Something is there where a new one is to be made."""

    field = "place"
    mend = "name a place where nothing is; nothing was changed"


class NotABackup(RecordProblem):
    """No backup, or one that a newer version wrote."""

    field = "backup"
    mend = "name a file that coilwright backup wrote, of this version or an earlier one"


class DamagedBackup(RecordProblem):
    """A backup that is not as it was written."""

    field = "backup"
    mend = "use another backup; nothing was restored"


class NoDriver(RecordProblem):
    """What speaks to the server is not installed."""

    mend = "install coilwright with its extra: coilwright[postgresql]"


class UnfitDatabase(RecordProblem):
    """A database that cannot hold every text."""

    mend = "make the database with the encoding UTF8"


class NewerRecord(RecordProblem):
    """A newer version of the program wrote it."""

    mend = "open it with the version that wrote it, or a later one"


class ReadOnlyRecord(RecordProblem):
    """It cannot be written to."""

    mend = "let this user write to it and to its folder"


class LockedRecord(RecordProblem):
    """Another program held it for longer than we wait."""

    mend = "let the other program finish and try again; nothing was written"


class FullDisk(RecordProblem):
    """There is no room left."""

    mend = "free some room and try again; nothing was written"


class DamagedRecord(RecordProblem):
    """Its content cannot be read."""

    mend = "check the whole record and restore the latest backup that is sound"


class UnreachableRecord(RecordProblem):
    """The file or the server cannot be opened."""

    mend = "check its place, who may use it and, for a server, that it runs"


class LostConnection(RecordProblem):
    """The server went away in the middle: what was sent may be written or not."""

    mend = (
        "once it answers, send the same entries again with the same ids: what was written is not "
        "written twice"
    )


class EntryConflict(RecordProblem):
    """An id is there already with another content."""

    field = "id"
    mend = "read the entry that is there; a new fact needs an id of its own"


class CorrectionConflict(RecordProblem):
    """The entry was corrected or withdrawn already."""

    field = "entry"
    mend = "read the correction that is there, and correct that one if it is wrong"


class UnknownEntry(RecordProblem):
    """A correction names an entry that its stream does not hold."""

    field = "entry"
    mend = "name an entry of the same stream by its id"


# SQLite's primary result codes: https://www.sqlite.org/rescode.html
SQLITE_MEANING: dict[int, tuple[type[RecordProblem], str]] = {
    5: (LockedRecord, "another program holds it"),
    6: (LockedRecord, "another program holds it"),
    8: (ReadOnlyRecord, "it can only be read"),
    10: (UnreachableRecord, "the disk does not read or write it"),
    11: (DamagedRecord, "the file is damaged"),
    13: (FullDisk, "there is no room left"),
    14: (UnreachableRecord, "it cannot be opened"),
    26: (NotARecord, "not a database"),
}
# PostgreSQL's error codes: its manual, appendix A.
POSTGRESQL_MEANING: dict[str, tuple[type[RecordProblem], str]] = {
    "55P03": (LockedRecord, "another program holds it"),
    "25006": (ReadOnlyRecord, "it can only be read"),
    "42501": (ReadOnlyRecord, "this user may not write to it"),
    "53100": (FullDisk, "there is no room left"),
    "58030": (UnreachableRecord, "the server's disk does not read or write it"),
    "42P07": (NotARecord, "it holds tables of another program"),
    "XX001": (DamagedRecord, "the database is damaged"),
}


@contextmanager
def told(record: str) -> Iterator[None]:
    """Turn a database's own error into ours; one without a meaning here goes on as it is."""
    try:
        yield
    except DBAPIError as error:
        meaning = _meaning(error)
        if meaning is None:
            raise
        leaf, found = meaning
        raise leaf(record, found) from error


def _meaning(error: DBAPIError) -> tuple[type[RecordProblem], str] | None:
    code = getattr(error.orig, "sqlite_errorcode", None)
    if isinstance(code, int):
        return SQLITE_MEANING.get(code & 0xFF)
    state = getattr(error.orig, "sqlstate", None)
    if error.connection_invalidated:
        return LostConnection, "the connection was lost"
    if state is None and type(error.orig).__name__ == "OperationalError":
        return UnreachableRecord, "no answer from the server, or it refused user or database"
    return POSTGRESQL_MEANING.get(str(state))
