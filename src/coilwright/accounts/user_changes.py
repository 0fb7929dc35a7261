"""Changes of the users: an entry of the record, and the secret beside it, in one transaction."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from sqlalchemy import Connection

from coilwright.accounts.accounts import Accounts
from coilwright.accounts.password_rule import password_problem
from coilwright.accounts.problems import AccountProblem
from coilwright.accounts.role import Role, in_order, role_words
from coilwright.accounts.secret_rows import put_hash
from coilwright.accounts.session_rows import drop_sessions_of
from coilwright.accounts.user import User, full_name_problem, name_key, name_problem
from coilwright.accounts.user_entry import user_entry
from coilwright.accounts.user_facts import (
    UserCreated,
    UserDisabled,
    UserEnabled,
    UserFact,
    UserPasswordChanged,
    UserRolesChanged,
)
from coilwright.accounts.user_rows import users_in
from coilwright.accounts.users import Users
from coilwright.errors import Problem
from coilwright.store.appending import append_entries


@dataclass(frozen=True, slots=True, kw_only=True)
class Changer:
    """Who changes the users, and when."""

    author: str
    at: datetime


def create_user(
    accounts: Accounts,
    *,
    name: str,
    full_name: str,
    roles: Iterable[Role],
    password: str,
    by: Changer,
) -> User:
    """Give somebody an account.

    Raises
    ------
    AccountProblem
        The name is taken or cannot be used, there is no role, or the password is refused.
    """
    _refuse(name_problem(name), full_name_problem(full_name))
    _refuse(password_problem(password, names=(name, full_name)))
    fact = UserCreated(name=name, full_name=full_name, roles=_some(roles))
    _refuse_taken(accounts.users(), name)
    password_hash = accounts.passwords.hashed(password)  # takes long: before the writer's turn
    with accounts.store.writing() as connection:
        _refuse_taken(users_in(connection, accounts.store.name), name)
        _append(accounts, connection, fact, by)
        put_hash(connection, name_key(name), password_hash)
        return _known(users_in(connection, accounts.store.name), name)


def change_roles(accounts: Accounts, name: str, roles: Iterable[Role], *, by: Changer) -> User:
    """Give a user these roles in place of those there were.

    Raises
    ------
    AccountProblem
        Nobody is called so, there is no role, or no administrator would be left.
    """
    new = _some(roles)
    with accounts.store.writing() as connection:
        users = users_in(connection, accounts.store.name)
        user = _known(users, name)
        if user.roles == frozenset(new):
            found = f"{user.name} is {role_words(new)} already"
            raise AccountProblem("role", found, "name all the roles that the user is to have")
        if Role.ADMINISTRATOR not in new:
            _keep_an_administrator(users, user)
        _append(accounts, connection, UserRolesChanged(name=user.name, roles=new), by)
        return _known(users_in(connection, accounts.store.name), name)


def change_password(accounts: Accounts, name: str, password: str, *, by: Changer) -> None:
    """Set a new password and end every session of the user.

    Raises
    ------
    AccountProblem
        Nobody is called so, or the password is refused.
    """
    user = _known(accounts.users(), name)
    _refuse(password_problem(password, names=(user.name, user.full_name)))
    password_hash = accounts.passwords.hashed(password)  # takes long: before the writer's turn
    with accounts.store.writing() as connection:
        _append(accounts, connection, UserPasswordChanged(name=user.name), by)
        put_hash(connection, name_key(user.name), password_hash)
        drop_sessions_of(connection, name_key(user.name))


def disable_user(accounts: Accounts, name: str, *, by: Changer) -> None:
    """Keep a user out from now on, and end every session of theirs.

    Raises
    ------
    AccountProblem
        Nobody is called so, the user is disabled already, or is the last administrator.
    """
    with accounts.store.writing() as connection:
        users = users_in(connection, accounts.store.name)
        user = _known(users, name)
        if not user.enabled:
            raise AccountProblem("name", f"{user.name} is disabled already", "name another user")
        _keep_an_administrator(users, user)
        _append(accounts, connection, UserDisabled(name=user.name), by)
        drop_sessions_of(connection, name_key(user.name))


def enable_user(accounts: Accounts, name: str, *, by: Changer) -> None:
    """Let a disabled user sign in again, with the password of before.

    Raises
    ------
    AccountProblem
        Nobody is called so, or the user is not disabled.
    """
    with accounts.store.writing() as connection:
        user = _known(users_in(connection, accounts.store.name), name)
        if user.enabled:
            raise AccountProblem("name", f"{user.name} is not disabled", "name another user")
        _append(accounts, connection, UserEnabled(name=user.name), by)


def _append(accounts: Accounts, connection: Connection, fact: UserFact, by: Changer) -> None:
    draft = user_entry(fact, id=uuid4(), at=by.at, author=by.author)
    append_entries(connection, [draft], accounts.store.name)


def _known(users: Users, name: str) -> User:
    user = users.named(name)
    if user is None:
        raise AccountProblem("name", "nobody is called so", "see coilwright user list")
    return user


def _refuse_taken(users: Users, name: str) -> None:
    taken = users.named(name)
    if taken is not None:
        raise AccountProblem("name", f"{taken.name} is there already", "choose another")


def _keep_an_administrator(users: Users, user: User) -> None:
    if users.administrators == (user,):
        found = f"{user.name} is the only administrator"
        raise AccountProblem("role", found, "make another one first")


def _some(roles: Iterable[Role]) -> tuple[Role, ...]:
    given = in_order(roles)
    if not given:
        raise AccountProblem("role", "none given", "give one or more")
    return given


def _refuse(*problems: Problem | None) -> None:
    for problem in problems:
        if problem is not None:
            raise AccountProblem(problem.field, problem.found, problem.mend)
