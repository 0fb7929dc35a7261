"""Who saw which case when, on both databases."""

import sqlite3

import psycopg
import pytest

from accounts.invented import added, after
from coilwright.accounts import (
    AccessLine,
    AccessQuery,
    Accounts,
    NotAllowed,
    Role,
    access_lines,
    note_access,
)
from coilwright.accounts.user import User
from store.places import Place

LINES = (
    AccessLine(at=after(minutes=1), user_name="kestrel", case_id="C-1", seen="room"),
    AccessLine(at=after(minutes=2), user_name="heron", case_id="C-1", seen="report.pdf"),
    AccessLine(at=after(minutes=3), user_name="kestrel", case_id="C-2", seen="room"),
)


@pytest.fixture
def keeper(accounts: Accounts) -> User:
    """An administrator, and three lines to read."""
    note_access(accounts, LINES)
    return added(accounts, "keeper", Role.ADMINISTRATOR)


def test_an_administrator_reads_every_line_newest_first(accounts: Accounts, keeper: User) -> None:
    assert access_lines(accounts, keeper) == LINES[::-1]
    assert access_lines(accounts, keeper, most=1) == LINES[2:]


def test_lines_are_asked_for_by_case_by_user_and_by_time(accounts: Accounts, keeper: User) -> None:
    def asked(**query: object) -> tuple[AccessLine, ...]:
        return access_lines(accounts, keeper, AccessQuery(**query))  # type: ignore[arg-type]  # by name

    assert asked(case_id="C-1") == (LINES[1], LINES[0])
    assert asked(user_name="kestrel") == (LINES[2], LINES[0])
    assert asked(since=after(minutes=2)) == (LINES[2], LINES[1])
    assert asked(before=after(minutes=2)) == (LINES[0],)
    assert asked(case_id="C-2", user_name="heron") == ()


@pytest.mark.parametrize("role", [Role.OPERATOR, Role.SCRIBE, Role.READER])
def test_nobody_else_reads_it(role: Role, accounts: Accounts, keeper: User) -> None:
    assert keeper.enabled
    with pytest.raises(NotAllowed, match="may not read the access log"):
        access_lines(accounts, added(accounts, "kestrel", role))


@pytest.mark.parametrize(
    "act", ["UPDATE access_line SET user_name = 'nobody'", "DELETE FROM access_line"]
)
def test_the_database_refuses_to_change_a_line(
    act: str, accounts: Accounts, keeper: User, place: Place
) -> None:
    with pytest.raises(
        (sqlite3.IntegrityError, psycopg.errors.RaiseException), match="append-only"
    ):
        place.run(act)
    assert access_lines(accounts, keeper) == LINES[::-1]


def test_lines_of_one_moment_keep_their_order_across_offsets(
    accounts: Accounts, keeper: User
) -> None:
    # The same instant in another zone, and one that text would sort the other way round.
    berlin = AccessLine(
        at=after(minutes=3).astimezone(tz=None), user_name="heron", case_id="C-3", seen="room"
    )
    note_access(accounts, [berlin])
    assert access_lines(accounts, keeper)[0] == berlin
    assert access_lines(accounts, keeper)[1] == LINES[2]


def test_a_line_without_who_which_or_when_cannot_be() -> None:
    with pytest.raises(ValueError, match="needs a user, a case and what was seen"):
        AccessLine(at=after(), user_name="kestrel", case_id="", seen="room")
    with pytest.raises(ValueError, match="no NUL"):
        AccessLine(at=after(), user_name="kestrel", case_id="C\0", seen="room")
    with pytest.raises(ValueError, match="time zone"):
        AccessLine(at=after().replace(tzinfo=None), user_name="kestrel", case_id="C-1", seen="room")
