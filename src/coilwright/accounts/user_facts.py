"""What can happen to a user, each in the past tense, valid once built.

None of them holds a password or anything made from one (docs/decisions/0007).
"""

from dataclasses import dataclass

from coilwright.accounts.role import Role, in_order
from coilwright.accounts.user import full_name_problem, name_problem


@dataclass(frozen=True, slots=True, kw_only=True)
class UserCreated:
    """Somebody was given an account."""

    name: str
    full_name: str
    roles: tuple[Role, ...]

    def __post_init__(self) -> None:
        problem = name_problem(self.name) or full_name_problem(self.full_name)
        if problem is not None:
            raise ValueError(str(problem))
        _check_roles(self.roles)


@dataclass(frozen=True, slots=True, kw_only=True)
class UserRolesChanged:
    """These are the user's roles from now on, all of them."""

    name: str
    roles: tuple[Role, ...]

    def __post_init__(self) -> None:
        _check_roles(self.roles)


@dataclass(frozen=True, slots=True, kw_only=True)
class UserPasswordChanged:
    """A new password was set, and every session of the user ended."""

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UserDisabled:
    """The user may not sign in any more, and every session of the user ended."""

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UserEnabled:
    """The user may sign in again."""

    name: str


UserFact = UserCreated | UserRolesChanged | UserPasswordChanged | UserDisabled | UserEnabled


def _check_roles(roles: tuple[Role, ...]) -> None:
    if not roles or roles != in_order(roles):
        raise ValueError("a user has one role or more, each once, in the order of the table")
