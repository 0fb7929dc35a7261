"""How a command ends: errors of the input in one sentence, nothing partial left behind."""

import gc
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import typer

from coilwright.errors import EXIT_MEND_INPUT, FileProblem, InputError, Problem


@contextmanager
def clear_ending() -> Iterator[None]:
    """Turn an error that the input caused into its sentence and exit status 2."""
    try:
        yield
    except InputError as error:
        typer.echo(str(error), err=True)
        raise typer.Exit(EXIT_MEND_INPUT) from None


def leave_imports_alone() -> None:
    """Keep the garbage collector from walking what was imported, again and again.

    Folding thousands of entries makes it run often; with the engine imported each run takes longer
    than the work between two of them. For commands that end soon after.
    """
    gc.freeze()


def write_whole(outputs: dict[Path, bytes]) -> None:
    """Write several files so that each appears whole or none does."""
    staged: list[tuple[Path, Path]] = []
    try:
        for path, content in outputs.items():
            staged.append((_staged(path, content), path))
        for temporary, path in staged:
            temporary.replace(path)
    except OSError as error:
        where = _meant(error, outputs)
        problem = Problem(
            field="output",
            found=(error.strerror or "cannot be written").lower(),
            mend="name a folder that exists and can be written to",
        )
        raise FileProblem(where, problem) from error
    finally:
        for temporary, _ in staged:
            temporary.unlink(missing_ok=True)


def _meant(error: OSError, outputs: dict[Path, bytes]) -> Path:
    """The output that failed: the error itself may name the hidden file it is staged in."""
    failed = Path(str(error.filename or ""))
    for path in outputs:
        if failed.name.startswith(f".{path.name}."):
            return path
    return next(iter(outputs))


def _staged(path: Path, content: bytes) -> Path:
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    with os.fdopen(handle, "wb") as file:
        file.write(content)
    temporary = Path(name)
    temporary.chmod(0o644)
    return temporary
