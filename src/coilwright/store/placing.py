"""A new file that appears in its place whole and private, or not at all."""

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from coilwright.store.problems import AlreadyThere, UnreachableRecord

OWNER_ALONE = 0o600
# What a file system without hard links answers: sticks and some network folders.
NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS}


@contextmanager
def new_file(file: Path) -> Iterator[Path]:
    """An empty draft beside the place; it moves there when the block ends without an error.

    Raises
    ------
    AlreadyThere
        Something stands in the place.
    UnreachableRecord
        No file can be made there.
    """
    _require_free(file)
    try:
        with tempfile.TemporaryDirectory(dir=file.parent, prefix=f".{file.name}.") as folder:
            draft = Path(folder) / "draft"
            os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ALONE))
            yield draft
            _sync(draft)
            _move(draft, file)
            _sync(file.parent)
    except OSError as error:
        found = f"cannot be made there ({(error.strerror or 'no reason given').lower()})"
        raise UnreachableRecord(file.name, found) from error


def _require_free(file: Path) -> None:
    if os.path.lexists(file):
        raise AlreadyThere(file.name, "something is there already")


def _move(draft: Path, file: Path) -> None:
    """Link, which never takes the place of a file; a rename would."""
    try:
        os.link(draft, file)
    except FileExistsError as error:
        raise AlreadyThere(file.name, "another program made it meanwhile") from error
    except OSError as error:
        if error.errno not in NO_LINKS:
            raise
        _require_free(file)
        draft.rename(file)


def _sync(path: Path) -> None:
    """Have it on the disk before anybody hears that it is there."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
