"""A PostgreSQL server of the machine's own packages, for as long as a test needs it."""

import os
import pwd
import re
import secrets
import shutil
import signal
import socket
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import IO, Any, TypedDict

import psycopg

DEBIAN = Path("/usr/lib/postgresql")
READY = "database system is ready to accept connections"
USER = "records"
START_TRIES = 3
SPARSE = ("max_connections=40", "shared_buffers=16MB", "autovacuum=off")


def programs() -> Path | None:
    """The folder of the newest version's programs; None on a machine without them."""
    found = [path.parent for path in DEBIAN.glob("*/bin/postgres")]
    if not found:
        on_path = shutil.which("postgres")
        return None if on_path is None else Path(on_path).resolve().parent
    return max(found, key=lambda path: int(re.sub(r"\D", "", path.parent.name) or 0))


class Owner(TypedDict):
    """Whose program a process is, in the words of `subprocess`."""

    user: str
    group: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A server on loopback, where every database of a test is a new one."""

    port: int
    password: str
    folder: Path
    owner: Owner | None
    numbers: Iterator[int]

    def url(self, database: str) -> str:
        """The database's URL as `open_record` takes it."""
        secret = f"{USER}:{self.password}"
        return f"postgresql+psycopg://{secret}@127.0.0.1:{self.port}/{database}"

    def run(self, act: str, *, database: str = "postgres") -> list[tuple[Any, ...]]:
        """Run a statement past the program, as somebody with every right can."""
        with psycopg.connect(
            host="127.0.0.1",
            port=self.port,
            user=USER,
            password=self.password,
            dbname=database,
            autocommit=True,
        ) as connection:
            cursor = connection.execute(act.encode())
            return cursor.fetchall() if cursor.description else []

    def new_database(self, wishes: str = "") -> str:
        """The name of a database in which nothing is."""
        name = f"site{next(self.numbers)}"
        self.run(f"CREATE DATABASE {name} {wishes}")
        return name

    def drop(self, database: str) -> None:
        """Remove a database with whoever is connected to it."""
        self.run(f"DROP DATABASE {database} WITH (FORCE)")


@contextmanager
def running_server(bin_folder: Path, *, fsync: bool) -> Iterator[Server]:
    """Make a cluster in a folder of its own, start it, stop it and remove it."""
    owner = _unprivileged()
    # Not in the tests' own folder, which another user cannot enter.
    folder = Path(tempfile.mkdtemp(prefix="record-server-"))
    try:
        password = secrets.token_hex(16)
        _make_cluster(bin_folder, folder, owner, password)
        process, port = _started(bin_folder, folder, owner, fsync=fsync)
        try:
            yield Server(port=port, password=password, folder=folder, owner=owner, numbers=count(1))
        finally:
            process.send_signal(signal.SIGINT)  # its manual: a fast shutdown
            process.wait(timeout=60)
    finally:
        shutil.rmtree(folder)


def _unprivileged() -> Owner | None:
    """Whose program the server is, since root may not run one."""
    if os.geteuid() != 0:
        return None
    for name in ("postgres", "nobody"):
        try:
            return Owner(user=name, group=pwd.getpwnam(name).pw_gid)
        except KeyError:
            continue
    raise RuntimeError("root may not run PostgreSQL, and there is nobody else here")


def _as(owner: Owner | None) -> dict[str, Any]:
    return {} if owner is None else {**owner, "extra_groups": []}


def _make_cluster(bin_folder: Path, folder: Path, owner: Owner | None, password: str) -> None:
    secret = folder / "password"
    secret.write_text(password, encoding="utf-8")
    if owner is not None:
        for path in (folder, secret):
            shutil.chown(path, **owner)
    command: list[str | Path] = [
        bin_folder / "initdb",
        "--pgdata",
        folder / "data",
        "--username",
        USER,
    ]
    command += ["--pwfile", secret, "--auth", "scram-sha-256", "--encoding", "UTF8"]
    command += ["--locale", "C.UTF-8", "--data-checksums", "--no-sync"]
    subprocess.run(command, check=True, capture_output=True, timeout=120, cwd=folder, **_as(owner))


def _started(
    bin_folder: Path, folder: Path, owner: Owner | None, *, fsync: bool
) -> tuple["subprocess.Popen[str]", int]:
    """On a port that the system picks; another program may take it first, so more than once."""
    for _ in range(START_TRIES):
        port = _free_port()
        settings = [f"port={port}", "listen_addresses=127.0.0.1", f"fsync={fsync:d}", *SPARSE]
        settings += [f"unix_socket_directories={folder}", "lc_messages=C"]
        command: list[str | Path] = [*_ending_with_us(), bin_folder / "postgres"]
        command += ["-D", folder / "data"]
        command += [word for setting in settings for word in ("-c", setting)]
        process = subprocess.Popen(
            command, stderr=subprocess.PIPE, text=True, cwd=folder, **_as(owner)
        )
        assert process.stderr is not None
        said = []
        for line in process.stderr:
            said.append(line)
            if READY in line:
                threading.Thread(target=_drain, args=[process.stderr], daemon=True).start()
                return process, port
        process.wait(timeout=60)
    raise RuntimeError("the server did not start: " + "".join(said))


def _ending_with_us() -> list[str]:
    """The words before a command that stop it when these tests are killed themselves."""
    setpriv = shutil.which("setpriv")
    return [] if setpriv is None else [setpriv, "--pdeathsig", "INT"]


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _drain(stream: IO[str]) -> None:
    """A server whose log nobody reads stops when the pipe is full."""
    with stream:
        for _ in stream:
            pass
