"""`coilwright user`: who may use the record, and as what."""

import datetime as dt
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated

import typer

from coilwright.cli.ending import clear_ending
from coilwright.errors import InputError, Problem

if TYPE_CHECKING:  # only named here: the command line must answer at once
    from coilwright.accounts import Accounts, Changer, Role

MOST_STDIN_BYTES = 10_000

user = typer.Typer(
    help="The users: add, list, disable, enable; their roles and passwords.",
    no_args_is_help=True,
)
Record = Annotated[
    str, typer.Argument(metavar="RECORD", help="The record: its file or its database's URL.")
]
Name = Annotated[str, typer.Argument(metavar="NAME", help="The name to sign in with.")]
By = Annotated[str, typer.Option("--by", metavar="NAME", help="Who makes the change.")]
Roles = Annotated[
    list[str],
    typer.Option(
        "--role",
        metavar="ROLE",
        help="operator, scribe, reader or administrator; once for each role.",
    ),
]
PasswordStdin = Annotated[
    bool,
    typer.Option("--password-stdin", help="Read the password from standard input, one line."),
]


class UserOptionProblem(InputError):
    """Something on the command line cannot be used; nothing was changed."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        super().__init__(problem)

    def __str__(self) -> str:
        return f"{self.problem}. Nothing was changed."


@user.command()
def add(
    record: Record,
    name: Name,
    full_name: Annotated[
        str, typer.Option("--full-name", metavar="TEXT", help="As it stands under a report.")
    ],
    roles: Roles,
    by: By,
    password_stdin: PasswordStdin = False,
) -> None:
    """Give somebody an account; the password is asked for, never given as an argument."""
    from coilwright.accounts import create_user, role_words  # noqa: PLC0415 - takes time to import

    with clear_ending(), _accounts(record) as accounts:
        changer, given = _changer(by), _roles(roles)
        created = create_user(
            accounts,
            name=name,
            full_name=full_name,
            roles=given,
            password=_password(from_stdin=password_stdin),
            by=changer,
        )
        typer.echo(f"added {created.name} ({role_words(created.roles)})")


@user.command("list")
def list_users(record: Record) -> None:
    """Show every user: name, roles, whether disabled, full name."""
    from coilwright.accounts import role_words  # noqa: PLC0415 - takes time to import

    with clear_ending(), _accounts(record) as accounts:
        users = accounts.users().all
        for one in users:
            state = "" if one.disabled_at is None else f" - disabled {one.disabled_at:%Y-%m-%d}"
            typer.echo(f"{one.name} ({role_words(one.roles)}): {one.full_name}{state}")
        if not users:
            typer.echo("no users yet: coilwright user add makes one")


@user.command()
def disable(record: Record, name: Name, by: By) -> None:
    """Keep a user out from now on and end every session; what they recorded stays."""
    from coilwright.accounts import disable_user  # noqa: PLC0415 - takes time to import

    with clear_ending(), _accounts(record) as accounts:
        disable_user(accounts, name, by=_changer(by))
    typer.echo(f"disabled {name}")


@user.command()
def enable(record: Record, name: Name, by: By) -> None:
    """Let a disabled user sign in again, with the password of before."""
    from coilwright.accounts import enable_user  # noqa: PLC0415 - takes time to import

    with clear_ending(), _accounts(record) as accounts:
        enable_user(accounts, name, by=_changer(by))
    typer.echo(f"enabled {name}")


@user.command()
def role(record: Record, name: Name, roles: Roles, by: By) -> None:
    """Give a user these roles in place of those there were."""
    from coilwright.accounts import change_roles, role_words  # noqa: PLC0415 - takes time to import

    with clear_ending(), _accounts(record) as accounts:
        changed = change_roles(accounts, name, _roles(roles), by=_changer(by))
        typer.echo(f"{changed.name} is now {role_words(changed.roles)}")


@user.command()
def password(record: Record, name: Name, by: By, password_stdin: PasswordStdin = False) -> None:
    """Set a user's password and end every session of theirs."""
    from coilwright.accounts import change_password  # noqa: PLC0415 - takes time to import

    with clear_ending(), _accounts(record) as accounts:
        changer = _changer(by)
        change_password(accounts, name, _password(from_stdin=password_stdin), by=changer)
    typer.echo(f"changed the password of {name}; every session of theirs ended")


@contextmanager
def _accounts(record: str) -> "Iterator[Accounts]":
    from coilwright.accounts import open_accounts  # noqa: PLC0415 - takes time to import
    from coilwright.store import open_record  # noqa: PLC0415 - the same

    with open_record(record) as store:
        yield open_accounts(store)


def _changer(by: str) -> "Changer":
    from coilwright.accounts import Changer  # noqa: PLC0415 - takes time to import

    if not by.strip():
        raise _problem("--by", "empty", "say who makes the change")
    return Changer(author=by.strip(), at=dt.datetime.now(dt.UTC))


def _roles(words: list[str]) -> "list[Role]":
    from coilwright.accounts import Role  # noqa: PLC0415 - takes time to import

    known = {one.value: one for one in Role}
    for word in words:
        if word not in known:
            raise _problem("--role", f"{word!r} is no role", f"give one of {', '.join(known)}")
    return [known[word] for word in words]


def _password(*, from_stdin: bool) -> str:
    """The password as typed twice without echo, or as the one line of standard input."""
    if from_stdin:
        return _one_line(sys.stdin.buffer.read(MOST_STDIN_BYTES))
    if not sys.stdin.isatty():
        found = "there is no terminal to ask on"
        raise _problem("password", found, "run it in a terminal, or give --password-stdin")
    typed: str = typer.prompt(
        "Password (it is not shown)", hide_input=True, confirmation_prompt="Again", err=True
    )
    return typed


def _one_line(raw: bytes) -> str:
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _problem("--password-stdin", "no UTF-8 text", "write it as UTF-8") from error
    line = text.removesuffix("\n").removesuffix("\r")
    if "\n" in line or "\r" in line:
        raise _problem("--password-stdin", "more than one line", "give the password alone")
    return line


def _problem(field: str, found: str, mend: str) -> UserOptionProblem:
    return UserOptionProblem(Problem(field=field, found=found, mend=mend))
