"""Roles, and what each may do: one table."""

from collections.abc import Iterable
from enum import Enum


class Role(Enum):
    """What a user is here for; one user may have several."""

    OPERATOR = "operator"
    SCRIBE = "scribe"
    READER = "reader"
    ADMINISTRATOR = "administrator"


class Act(Enum):
    """What somebody may or may not do; the value completes "may ..."."""

    SEE_CASE = "see a case"
    RECORD = "record"
    CORRECT = "correct an entry"
    SIGN = "sign"
    MANAGE_USERS = "manage users"
    CHANGE_LIMITS = "change limits"
    READ_ACCESS_LOG = "read the access log"


# Ours, without a source. A scribe enters all that the scrubbed operator says, corrections too, and
# signs nothing. A reader's screen is the wall view. An administrator sees no patient: limits are
# changed at the desk, by somebody who was given that role as well, never at the table alone.
MAY: dict[Role, frozenset[Act]] = {
    Role.OPERATOR: frozenset({Act.SEE_CASE, Act.RECORD, Act.CORRECT, Act.SIGN}),
    Role.SCRIBE: frozenset({Act.SEE_CASE, Act.RECORD, Act.CORRECT}),
    Role.READER: frozenset({Act.SEE_CASE}),
    Role.ADMINISTRATOR: frozenset({Act.MANAGE_USERS, Act.CHANGE_LIMITS, Act.READ_ACCESS_LOG}),
}


def in_order(roles: Iterable[Role]) -> tuple[Role, ...]:
    """The roles, each once, in the order of the table."""
    given = frozenset(roles)
    return tuple(role for role in Role if role in given)


def role_words(roles: Iterable[Role]) -> str:
    """Roles as one says them.

    Examples
    --------
    >>> role_words({Role.ADMINISTRATOR, Role.OPERATOR})
    'operator, administrator'
    """
    return ", ".join(role.value for role in in_order(roles))
