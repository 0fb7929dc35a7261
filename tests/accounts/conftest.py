"""The accounts of an empty record, on both databases, with hashes that cost nothing."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from accounts.invented import QUICK
from coilwright.accounts import Accounts, open_accounts
from coilwright.store import open_record
from store.places import FilePlace, Place, ServerPlace
from store.postgresql_server import Server, programs, running_server


@pytest.fixture(scope="session")
def server() -> Iterator[Server]:
    """A PostgreSQL server; without one, a skip that shows, and a failure where CI is set."""
    bin_folder = programs()
    if bin_folder is None:
        if os.environ.get("CI"):
            pytest.fail("no PostgreSQL: its tests must run where CI is set")
        pytest.skip("no PostgreSQL on this machine: install Debian's package postgresql")
    with running_server(bin_folder, fsync=False) as running:
        yield running


@pytest.fixture
def server_place(server: Server) -> Iterator[ServerPlace]:
    """An empty database of the server."""
    name = server.new_database()
    yield ServerPlace(server, name)
    server.drop(name)


@pytest.fixture(params=["sqlite", "postgresql"])
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Place:
    """Where a record can be, once on each database."""
    if request.param == "sqlite":
        return FilePlace(tmp_path / "site.record")
    found: ServerPlace = request.getfixturevalue("server_place")
    return found


@pytest.fixture
def accounts(place: Place) -> Iterator[Accounts]:
    """The accounts of a new record; nobody has one yet."""
    with open_record(place.where, create=True) as store:
        yield open_accounts(store, passwords=QUICK)
