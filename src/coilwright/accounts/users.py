"""The fold: entries of the stream ``accounts`` in, the users out."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from coilwright.accounts.role import Role
from coilwright.accounts.user import User, name_key
from coilwright.accounts.user_entry import user_fact
from coilwright.accounts.user_facts import (
    UserCreated,
    UserDisabled,
    UserEnabled,
    UserFact,
    UserPasswordChanged,
    UserRolesChanged,
)
from coilwright.record import Entry, UnreadableEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Users:
    """Everybody who ever had an account, in the order in which they were created."""

    all: tuple[User, ...] = ()

    def named(self, name: str) -> User | None:
        """The user of that name, however it is written; None where there is none."""
        key = name_key(name)
        return next((user for user in self.all if name_key(user.name) == key), None)

    @property
    def administrators(self) -> tuple[User, ...]:
        """Those who may manage the users now."""
        return tuple(u for u in self.all if u.enabled and Role.ADMINISTRATOR in u.roles)


def fold_users(entries: Iterable[Entry]) -> Users:
    """The users as the entries add them up.

    Raises
    ------
    UnreadableEntry
        An entry is none of the accounts', creates a user twice or names one who was not created.
    """
    found: dict[str, User] = {}
    for entry in entries:
        fact = user_fact(entry)
        key = name_key(fact.name)
        after = _after(found.get(key), fact, entry.at)
        if after is None:
            wrong = "creates a user who is there" if key in found else "names an unknown user"
            raise UnreadableEntry(f"entry {entry.id} ({entry.kind}): it {wrong}")
        found[key] = after
    return Users(all=tuple(found.values()))


def _after(user: User | None, fact: UserFact, at: datetime) -> User | None:
    """The user after the fact; None where it cannot have happened."""
    if isinstance(fact, UserCreated):
        return _created(fact, at) if user is None else None
    if user is None:
        return None
    match fact:
        case UserRolesChanged(roles=roles):
            return replace(user, roles=frozenset(roles))
        case UserPasswordChanged():
            return replace(user, password_changed_at=at)
        case UserDisabled():
            return replace(user, disabled_at=at)
        case UserEnabled():
            return replace(user, disabled_at=None)


def _created(fact: UserCreated, at: datetime) -> User:
    return User(
        name=fact.name,
        full_name=fact.full_name,
        roles=frozenset(fact.roles),
        created_at=at,
        password_changed_at=at,
    )
