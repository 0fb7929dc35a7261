"""A named user, and what this user may do."""

import unicodedata
from dataclasses import dataclass
from datetime import datetime

from coilwright.accounts.problems import NotAllowed
from coilwright.accounts.role import MAY, Act, Role
from coilwright.errors import Problem

# Bounds of our own: what fits on one line of a screen and of a report.
MOST_NAME_CHARACTERS = 64
MOST_FULL_NAME_CHARACTERS = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class User:
    """Somebody with an account. ``full_name`` is what stands under a report.

    A disabled user stays in the record and may do nothing.
    """

    name: str
    full_name: str
    roles: frozenset[Role]
    created_at: datetime
    password_changed_at: datetime
    disabled_at: datetime | None = None

    @property
    def enabled(self) -> bool:
        """Whether this user may sign in."""
        return self.disabled_at is None


def may(user: User, act: Act) -> bool:
    """Whether the user may do it: the one place that asks the table of roles."""
    return user.enabled and any(act in MAY[role] for role in user.roles)


def require(user: User, act: Act) -> None:
    """Refuse what the user may not do.

    Raises
    ------
    NotAllowed
        No role of this user may do it, or the user is disabled.
    """
    if not may(user, act):
        raise NotAllowed(act)


def name_key(name: str) -> str:
    """The form in which two names count as one: case and width of letters do not part them.

    Examples
    --------
    >>> name_key("A. Scribe") == name_key("a. scribe")
    True
    """
    return unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", name).casefold())


def name_problem(name: str) -> Problem | None:
    """What is wrong with a name to sign in with; None where it can be used."""
    return _line_problem("name", name, MOST_NAME_CHARACTERS)


def full_name_problem(full_name: str) -> Problem | None:
    """What is wrong with a full name; None where it can be used."""
    return _line_problem("full name", full_name, MOST_FULL_NAME_CHARACTERS)


def _line_problem(field: str, text: str, most: int) -> Problem | None:
    if not text.strip():
        return Problem(field=field, found="empty", mend="give one")
    if text != text.strip() or not text.isprintable():
        found = "it starts or ends with a space, or holds a character that is not printed"
        return Problem(field=field, found=found, mend="write it without")
    if len(text) > most:
        found = f"{len(text)} characters"
        return Problem(field=field, found=found, mend=f"use at most {most}")
    return None
