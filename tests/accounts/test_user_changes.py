"""Changes of the users on both databases: an entry of the record, the secret beside it."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest

from accounts.invented import PASSWORD, QUICK, added, after, changer
from coilwright.accounts import (
    ACCOUNTS,
    AccountProblem,
    Accounts,
    Role,
    change_password,
    change_roles,
    create_user,
    disable_user,
    enable_user,
    open_accounts,
)
from coilwright.store import NewerRecord, check_record, open_record
from store.places import Place

NEW = "nine herons under a bridge"


def kinds(accounts: Accounts) -> list[str]:
    return [entry.kind for entry in accounts.store.entries(ACCOUNTS)]


def test_a_change_is_an_entry_with_its_author_and_time(accounts: Accounts) -> None:
    added(accounts, "heron", Role.ADMINISTRATOR)
    user = added(accounts, "kestrel", Role.SCRIBE)
    assert user.roles == {Role.SCRIBE}
    change_roles(accounts, "Kestrel", [Role.OPERATOR], by=changer(after(hours=1)))
    change_password(accounts, "kestrel", NEW, by=changer(after(hours=2)))
    disable_user(accounts, "kestrel", by=changer(after(hours=3)))
    enable_user(accounts, "kestrel", by=changer(after(hours=4)))
    assert kinds(accounts) == [
        "user_created",
        "user_created",
        "user_roles_changed",
        "user_password_changed",
        "user_disabled",
        "user_enabled",
    ]
    last = accounts.store.entries(ACCOUNTS)[-1]
    assert (last.author, last.at, dict(last.payload)) == (
        "M. Keeper",
        after(hours=4),
        {"name": "kestrel"},
    )
    kestrel = accounts.users().named("kestrel")
    assert kestrel is not None
    assert kestrel.enabled
    assert kestrel.roles == {Role.OPERATOR}
    assert check_record(accounts.store) == ()


def test_neither_a_password_nor_its_hash_is_in_an_entry(accounts: Accounts, place: Place) -> None:
    added(accounts, "kestrel")
    change_password(accounts, "kestrel", NEW, by=changer())
    for (payload,) in place.run("SELECT payload FROM entry"):
        assert "argon2" not in payload
        assert PASSWORD not in payload
        assert NEW not in payload
    ((kept,),) = place.run("SELECT password_hash FROM account_secret")
    assert kept.startswith("$argon2id$")
    assert QUICK.check(kept, NEW).right


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda a: added(a, "KESTREL"), "kestrel is there already"),
        (lambda a: added(a, " heron"), "starts or ends with a space"),
        (lambda a: added(a, "heron", password="short"), "too short"),
        (lambda a: added(a, "heron", password="heron-2026"), "anybody would try"),
        (
            lambda a: create_user(
                a, name="heron", full_name="H", roles=[], password=PASSWORD, by=changer()
            ),
            "role: none given",
        ),
        (lambda a: change_roles(a, "heron", [Role.READER], by=changer()), "nobody is called so"),
        (lambda a: change_roles(a, "kestrel", [Role.ADMINISTRATOR], by=changer()), "already"),
        (lambda a: change_roles(a, "kestrel", [Role.READER], by=changer()), "only administrator"),
        (lambda a: change_password(a, "kestrel", "kestrel 1", by=changer()), "anybody would try"),
        (lambda a: change_password(a, "heron", NEW, by=changer()), "nobody is called so"),
        (lambda a: disable_user(a, "kestrel", by=changer()), "only administrator"),
        (lambda a: disable_user(a, "heron", by=changer()), "nobody is called so"),
        (lambda a: enable_user(a, "kestrel", by=changer()), "not disabled"),
    ],
)
def test_a_change_that_cannot_be_made_changes_nothing(
    change: Callable[[Accounts], object], said: str, accounts: Accounts, place: Place
) -> None:
    added(accounts, "kestrel", Role.ADMINISTRATOR)
    before = place.run("SELECT * FROM account_secret")
    with pytest.raises(AccountProblem, match=rf"{said}.*Nothing was changed\.$"):
        change(accounts)
    assert kinds(accounts) == ["user_created"]
    assert place.run("SELECT * FROM account_secret") == before


def test_a_disabled_user_cannot_be_disabled_again(accounts: Accounts) -> None:
    added(accounts, "kestrel")
    disable_user(accounts, "kestrel", by=changer())
    with pytest.raises(AccountProblem, match="disabled already"):
        disable_user(accounts, "kestrel", by=changer())


def test_an_administrator_may_go_once_there_is_another(accounts: Accounts) -> None:
    added(accounts, "kestrel", Role.ADMINISTRATOR)
    added(accounts, "heron", Role.ADMINISTRATOR)
    disable_user(accounts, "kestrel", by=changer())
    with pytest.raises(AccountProblem, match="heron is the only administrator"):
        change_roles(accounts, "heron", [Role.OPERATOR], by=changer())


def test_an_entry_that_fails_leaves_no_secret(
    accounts: Accounts, place: Place, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("the machine stopped here")

    monkeypatch.setattr("coilwright.accounts.user_changes.put_hash", broken)
    with pytest.raises(RuntimeError, match="stopped here"):
        added(accounts, "kestrel")
    assert kinds(accounts) == []
    assert place.run("SELECT * FROM account_secret") == []


def test_the_tables_are_made_once_and_kept(accounts: Accounts, place: Place) -> None:
    added(accounts, "kestrel")
    with open_record(place.where) as store:
        again = open_accounts(store, passwords=QUICK)
        assert [user.name for user in again.users().all] == ["kestrel"]
    assert place.run("SELECT version_num FROM accounts_version") == [("0001",)]
    # The record's own version is not touched by the accounts'.
    assert place.run("SELECT version_num FROM alembic_version") == [("0001",)]


def test_somebody_can_sign_in_only_with_an_account_a_password_and_no_ban(
    accounts: Accounts, place: Place
) -> None:
    assert not accounts.somebody_can_sign_in()
    added(accounts, "kestrel")
    assert accounts.somebody_can_sign_in()
    disable_user(accounts, "kestrel", by=changer())
    assert not accounts.somebody_can_sign_in()
    enable_user(accounts, "kestrel", by=changer())
    place.run("DELETE FROM account_secret")  # as after a restore
    assert not accounts.somebody_can_sign_in()


def test_of_two_who_take_a_name_at_once_one_has_it(accounts: Accounts, place: Place) -> None:
    def attempt(password: str) -> str | None:
        try:
            added(accounts, "kestrel", password=password)
        except AccountProblem:
            return None
        return password

    passwords = [f"{number} geese over the fen" for number in range(8)]
    with ThreadPoolExecutor(max_workers=8) as pool:
        (winner,) = (one for one in pool.map(attempt, passwords) if one is not None)
    assert kinds(accounts) == ["user_created"]
    ((kept,),) = place.run("SELECT password_hash FROM account_secret")
    assert QUICK.check(kept, winner).right


def test_several_programs_may_open_the_accounts_for_the_first_time_at_once(place: Place) -> None:
    open_record(place.where, create=True).close()
    ready = Barrier(4)

    def opened(_: int) -> int:
        with open_record(place.where) as store:
            ready.wait(timeout=60)
            return len(open_accounts(store, passwords=QUICK).users().all)

    with ThreadPoolExecutor(max_workers=4) as pool:
        assert list(pool.map(opened, range(4))) == [0, 0, 0, 0]
    assert place.run("SELECT version_num FROM accounts_version") == [("0001",)]


def test_tables_of_a_newer_version_are_refused(accounts: Accounts, place: Place) -> None:
    place.run("UPDATE accounts_version SET version_num = '0002'")
    with pytest.raises(NewerRecord, match="accounts' schema is 0002, known here up to 0001"):
        open_accounts(accounts.store)
