"""`coilwright user` as a person meets it: no password on the command line, nothing half done."""

import os
import select
import subprocess
import sys
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from coilwright.cli.main import app
from coilwright.store import check_record, open_record

PASSWORD = "a kettle on the third shelf"
NEW = "nine herons under a bridge"


def user(*words: str | Path, keyed: str | bytes | None = None) -> Result:
    return CliRunner().invoke(app, ["user", *(str(word) for word in words)], input=keyed)


def added(record: Path, name: str, *roles: str) -> Result:
    options = [word for role in roles for word in ("--role", role)]
    return user(
        "add",
        record,
        name,
        *options,
        "--full-name",
        f"Dr {name}",
        "--by",
        "M. Keeper",
        "--password-stdin",
        keyed=f"{PASSWORD}\n",
    )


def kinds(record: Path) -> list[str]:
    with open_record(record) as store:
        assert check_record(store) == ()
        return [entry.kind for entry in store.entries("accounts")]


@pytest.fixture
def record(tmp_path: Path) -> Path:
    file = tmp_path / "suite.record"
    open_record(file, create=True).close()
    return file


def test_users_are_added_listed_changed_and_disabled(record: Path) -> None:
    assert "no users yet" in user("list", record).output
    done = added(record, "heron", "administrator", "operator")
    assert (done.exit_code, done.output) == (0, "added heron (operator, administrator)\n")
    assert added(record, "kestrel", "scribe").exit_code == 0
    done = user("role", record, "kestrel", "--role", "reader", "--by", "heron")
    assert done.output == "kestrel is now reader\n"
    done = user("password", record, "kestrel", "--by", "heron", "--password-stdin", keyed=NEW)
    assert done.output == "changed the password of kestrel; every session of theirs ended\n"
    assert user("disable", record, "kestrel", "--by", "heron").output == "disabled kestrel\n"
    heron, kestrel = user("list", record).output.splitlines()
    assert heron == "heron (operator, administrator): Dr heron"
    assert kestrel.startswith("kestrel (reader): Dr kestrel - disabled 2")
    assert user("enable", record, "kestrel", "--by", "heron").output == "enabled kestrel\n"
    assert kinds(record) == [
        "user_created",
        "user_created",
        "user_roles_changed",
        "user_password_changed",
        "user_disabled",
        "user_enabled",
    ]


def test_no_command_takes_a_password_as_an_argument(record: Path) -> None:
    attempts: tuple[list[str | Path], ...] = (
        ["add", record, "heron", "--role", "reader", "--full-name", "H", "--by", "M", NEW],
        ["password", record, "heron", "--by", "M", NEW],
        ["password", record, "heron", "--by", "M", "--password", NEW],
    )
    for words in attempts:
        done = user(*words)
        assert done.exit_code == 2
        assert "No such option" in done.output or "unexpected extra argument" in done.output
    assert kinds(record) == []


def test_the_password_is_nowhere_in_the_record(record: Path) -> None:
    assert added(record, "heron", "operator").exit_code == 0
    for file in record.parent.iterdir():
        assert PASSWORD.encode() not in file.read_bytes()


@pytest.mark.parametrize(
    ("keyed", "said"),
    [
        (b"", "password: too short; use at least 8 characters"),
        (b"short\n", "password: too short"),
        (b"coilwright 1\n", "password: one of the first that anybody would try"),
        (b"nine herons\nunder a bridge\n", "--password-stdin: more than one line"),
        (b"nine herons \xff\n", "--password-stdin: no UTF-8 text"),
    ],
)
def test_a_password_that_cannot_be_taken_changes_nothing(
    keyed: bytes, said: str, record: Path
) -> None:
    done = user(
        "add",
        record,
        "heron",
        "--role",
        "reader",
        "--full-name",
        "H",
        "--by",
        "M",
        "--password-stdin",
        keyed=keyed,
    )
    assert done.exit_code == 2
    assert done.output.startswith(said)
    assert done.output.endswith("Nothing was changed.\n")
    assert "herons" not in done.output
    assert kinds(record) == []


def test_without_a_terminal_the_password_is_not_asked_for(record: Path) -> None:
    added(record, "heron", "reader")
    done = user("password", record, "heron", "--by", "M", keyed=f"{NEW}\n{NEW}\n")
    assert done.exit_code == 2
    assert "no terminal to ask on; run it in a terminal, or give --password-stdin" in done.output
    assert kinds(record) == ["user_created"]


@pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals are a thing of POSIX")
def test_a_terminal_shows_nothing_of_what_is_typed(record: Path, coilwright_program: Path) -> None:
    added(record, "heron", "reader")
    ours, theirs = os.openpty()
    command: list[str | Path] = [
        coilwright_program,
        "user",
        "password",
        record,
        "heron",
        "--by",
        "M",
    ]
    # A session of its own: it must ask on the terminal that it was given, not on the tests'.
    with subprocess.Popen(
        command, stdin=theirs, stdout=theirs, stderr=theirs, start_new_session=True
    ) as running:
        os.close(theirs)
        # The space behind the colon comes when the terminal has stopped showing what is typed.
        shown = _read_until(ours, b"shown): ")
        os.write(ours, f"{NEW}\n".encode())
        shown += _read_until(ours, b"Again: ")
        os.write(ours, f"{NEW}\n".encode())
        shown += _read_until(ours, b"ended")
        running.wait(timeout=60)
    os.close(ours)
    assert running.returncode == 0
    assert b"heron" in shown
    assert b"bridge" not in shown
    assert kinds(record) == ["user_created", "user_password_changed"]


def _read_until(terminal: int, mark: bytes) -> bytes:
    """What the terminal shows up to the mark."""
    shown = b""
    while mark not in shown:
        assert select.select([terminal], [], [], 60)[0], f"nothing more after {shown!r}"
        shown += os.read(terminal, 1)
    return shown


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["role", "heron", "--role", "owner", "--by", "M"], "--role: 'owner' is no role; give one"),
        (["role", "heron", "--role", "reader", "--by", " "], "--by: empty"),
        (["role", "nobody", "--role", "reader", "--by", "M"], "name: nobody is called so"),
        (["disable", "heron", "--by", "M"], "role: heron is the only administrator"),
        (["enable", "heron", "--by", "M"], "name: heron is not disabled"),
    ],
)
def test_what_cannot_be_changed_is_said_in_one_sentence(
    words: list[str], said: str, record: Path
) -> None:
    added(record, "heron", "administrator")
    act, *rest = words
    done = user(act, record, *rest)
    assert done.exit_code == 2
    assert done.output.startswith(said)
    assert done.output.count("\n") == 1
    assert kinds(record) == ["user_created"]


def test_a_record_that_is_not_there_is_said_and_not_made(tmp_path: Path) -> None:
    done = added(tmp_path / "none.record", "heron", "reader")
    assert done.exit_code == 2
    assert done.output.startswith("none.record: record: not found")
    assert list(tmp_path.iterdir()) == []
