"""Signing in and out on both databases, with a clock that the test holds."""

from dataclasses import replace
from datetime import datetime

import pytest
from argon2 import PasswordHasher

from accounts.invented import ELSEWHERE, PASSWORD, START, added, after, changer
from coilwright.accounts import (
    Accounts,
    Passwords,
    Role,
    SignInMustWait,
    SignInRefused,
    change_password,
    change_roles,
    disable_user,
    enable_user,
    hold_open,
    sign_in,
    sign_out,
    sign_out_everywhere,
    signed_in,
)
from coilwright.accounts.password_hash import PasswordCheck
from coilwright.accounts.session import token_hash
from store.places import Place

REFUSED = r"^The name and the password do not belong together, or this user may not sign in\.$"


def token_of(
    accounts: Accounts,
    name: str = "kestrel",
    password: str = PASSWORD,
    now: datetime = START,
    address: str = ELSEWHERE,
) -> str:
    return sign_in(accounts, name=name, password=password, address=address, now=now)[0]


def test_the_right_password_begins_a_session_of_that_user(accounts: Accounts) -> None:
    added(accounts, "kestrel", Role.SCRIBE)
    token, session = sign_in(
        accounts, name="Kestrel", password=PASSWORD, address=ELSEWHERE, now=START
    )
    assert session.user.name == "kestrel"
    assert session.user.roles == {Role.SCRIBE}
    assert signed_in(accounts, token, after(minutes=1)) is not None
    assert signed_in(accounts, "another token", after(minutes=1)) is None


def test_a_token_is_nowhere_in_the_database(accounts: Accounts, place: Place) -> None:
    added(accounts, "kestrel")
    token = token_of(accounts)
    ((kept,),) = place.run("SELECT token_hash FROM account_session")
    assert kept == token_hash(token)
    assert signed_in(accounts, kept, START) is None


@pytest.mark.parametrize(
    ("name", "password"),
    [
        ("kestrel", "a kettle on the fourth shelf"),
        ("nobody", PASSWORD),
        ("disabled", PASSWORD),
        ("restored", PASSWORD),
        ("", ""),
        ("kestrel", "\ud800"),
        ("nul\x00", PASSWORD),
        ("\udcff", PASSWORD),
    ],
)
def test_every_refusal_is_the_same_sentence(
    name: str, password: str, accounts: Accounts, place: Place
) -> None:
    for known in ("kestrel", "disabled", "restored"):
        added(accounts, known)
    disable_user(accounts, "disabled", by=changer())
    place.run("DELETE FROM account_secret WHERE name_key = 'restored'")
    with pytest.raises(SignInRefused, match=REFUSED):
        token_of(accounts, name, password)
    assert place.run("SELECT * FROM account_session") == []


def test_guessing_must_wait_for_known_and_unknown_names_alike(accounts: Accounts) -> None:
    added(accounts, "kestrel")
    for name in ("kestrel", "nobody"):
        for _ in range(5):
            with pytest.raises(SignInRefused):
                token_of(accounts, name, "a wrong guess")
        with pytest.raises(SignInMustWait, match=r"^Too many attempts to sign in; try again in 30"):
            token_of(accounts, name, PASSWORD)
    # However the name is written; and the right password is free again after the wait.
    with pytest.raises(SignInMustWait) as waiting:
        token_of(accounts, "KESTREL", PASSWORD, now=after(seconds=10))
    assert waiting.value.wait_s == 20.0
    assert token_of(accounts, now=after(seconds=30))
    with pytest.raises(SignInRefused):
        token_of(accounts, "kestrel", "a wrong guess", now=after(seconds=30))


def test_a_session_that_is_open_does_not_wait(accounts: Accounts) -> None:
    added(accounts, "kestrel")
    token = token_of(accounts)
    for _ in range(5):
        with pytest.raises(SignInRefused):
            token_of(accounts, "kestrel", "a wrong guess")
    assert signed_in(accounts, token, after(minutes=1)) is not None


def test_use_keeps_a_session_and_a_page_that_asks_by_itself_does_not(accounts: Accounts) -> None:
    added(accounts, "kestrel")
    used, left = token_of(accounts), token_of(accounts)
    for minutes in (20, 40, 60):
        assert signed_in(accounts, used, after(minutes=minutes)) is not None
    for minutes in (10, 20, 29):
        assert signed_in(accounts, left, after(minutes=minutes), seen=False) is not None
    assert signed_in(accounts, left, after(minutes=30)) is None
    assert signed_in(accounts, used, after(hours=12)) is None


def test_an_open_case_holds_its_session_until_it_is_closed(accounts: Accounts) -> None:
    added(accounts, "kestrel")
    token = token_of(accounts)
    assert hold_open(accounts, token, after(minutes=5), case_open=True)
    assert signed_in(accounts, token, after(hours=11), seen=False) is not None
    assert hold_open(accounts, token, after(hours=11), case_open=False)
    assert signed_in(accounts, token, after(hours=11, minutes=29), seen=False) is not None
    assert signed_in(accounts, token, after(hours=11, minutes=30)) is None
    assert not hold_open(accounts, token, after(hours=11, minutes=30), case_open=True)


def test_signing_out_ends_this_session_or_all_of_them(accounts: Accounts) -> None:
    added(accounts, "kestrel")
    added(accounts, "heron")
    first, second, third = (token_of(accounts) for _ in range(3))
    hers = token_of(accounts, "heron")
    sign_out(accounts, first)
    sign_out(accounts, first)
    assert signed_in(accounts, first, START) is None
    assert signed_in(accounts, second, START) is not None
    assert sign_out_everywhere(accounts, "Kestrel") == 2
    assert signed_in(accounts, second, START) is None
    assert signed_in(accounts, third, START) is None
    assert signed_in(accounts, hers, START) is not None


def test_a_new_password_or_a_disabled_user_ends_every_session(accounts: Accounts) -> None:
    added(accounts, "kestrel")
    token = token_of(accounts)
    change_password(accounts, "kestrel", "nine herons under a bridge", by=changer())
    assert signed_in(accounts, token, START) is None
    with pytest.raises(SignInRefused):
        token_of(accounts)
    token = token_of(accounts, password="nine herons under a bridge")
    hold_open(accounts, token, START, case_open=True)
    disable_user(accounts, "kestrel", by=changer())
    assert signed_in(accounts, token, START) is None
    enable_user(accounts, "kestrel", by=changer())
    assert signed_in(accounts, token, START) is None


def test_a_new_role_counts_at_once_in_an_open_session(accounts: Accounts) -> None:
    added(accounts, "kestrel", Role.SCRIBE)
    token = token_of(accounts)
    change_roles(accounts, "kestrel", [Role.READER], by=changer())
    found = signed_in(accounts, token, START)
    assert found is not None
    assert found.user.roles == {Role.READER}


def test_a_hash_of_other_parameters_is_made_anew_at_sign_in(
    accounts: Accounts, place: Place
) -> None:
    added(accounts, "kestrel")
    stronger = Passwords(PasswordHasher(time_cost=2, memory_cost=16, parallelism=1))
    later = replace(accounts, passwords=stronger)
    assert token_of(later)
    ((kept,),) = place.run("SELECT password_hash FROM account_secret")
    assert "$m=16,t=2,p=1$" in kept
    assert token_of(later)
    # Nothing was changed that the record tells of.
    assert [entry.kind for entry in accounts.store.entries("accounts")] == ["user_created"]


@pytest.mark.parametrize("act", ["password", "disable"])
def test_a_change_while_the_password_is_checked_keeps_the_session_from_beginning(
    act: str, accounts: Accounts, place: Place
) -> None:
    added(accounts, "kestrel")

    class Slow(Passwords):
        """An administrator is quicker than the check."""

        def check(self, stored: str | None, password: str) -> PasswordCheck:
            if act == "password":
                change_password(accounts, "kestrel", "nine herons under a bridge", by=changer())
            else:
                disable_user(accounts, "kestrel", by=changer())
            return super().check(stored, password)

    slow = Slow(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
    with pytest.raises(SignInRefused, match=REFUSED):
        token_of(replace(accounts, passwords=slow))
    assert place.run("SELECT * FROM account_session") == []


def test_sessions_that_are_over_leave_the_table(accounts: Accounts, place: Place) -> None:
    added(accounts, "kestrel")
    token_of(accounts)
    token_of(accounts, now=after(minutes=10))
    token_of(accounts, now=after(minutes=35))
    assert place.run("SELECT count(*) FROM account_session") == [(2,)]
