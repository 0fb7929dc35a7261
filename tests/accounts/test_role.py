"""Who may do what: the table of roles, asked in one place."""

from dataclasses import replace

import pytest

from accounts.invented import START
from coilwright.accounts import MAY, Act, NotAllowed, Role, User, may, require


def user(*roles: Role) -> User:
    return User(
        name="a.kestrel",
        full_name="A. Kestrel",
        roles=frozenset(roles),
        created_at=START,
        password_changed_at=START,
    )


def test_every_role_is_in_the_table_and_every_act_is_somebodys() -> None:
    assert set(MAY) == set(Role)
    assert frozenset().union(*MAY.values()) == set(Act)


# Stated by the issue: a scribe's screen and a read-only wall view; who signs is the operator.
@pytest.mark.parametrize(
    ("role", "allowed"),
    [
        (Role.OPERATOR, {Act.SEE_CASE, Act.RECORD, Act.CORRECT, Act.SIGN}),
        (Role.SCRIBE, {Act.SEE_CASE, Act.RECORD, Act.CORRECT}),
        (Role.READER, {Act.SEE_CASE}),
        (Role.ADMINISTRATOR, {Act.MANAGE_USERS, Act.CHANGE_LIMITS, Act.READ_ACCESS_LOG}),
    ],
)
def test_a_role_may_do_this_and_nothing_else(role: Role, allowed: set[Act]) -> None:
    assert {act for act in Act if may(user(role), act)} == allowed


def test_two_roles_may_do_what_either_may() -> None:
    for one in Role:
        for other in Role:
            both = {act for act in Act if may(user(one, other), act)}
            either = {act for act in Act if may(user(one), act) or may(user(other), act)}
            assert both == either


def test_a_disabled_user_may_do_nothing() -> None:
    out = replace(user(*Role), disabled_at=START)
    assert not any(may(out, act) for act in Act)


def test_what_is_not_allowed_is_refused_in_one_sentence() -> None:
    with pytest.raises(NotAllowed, match=r"^This user may not sign; ask an administrator"):
        require(user(Role.SCRIBE), Act.SIGN)
    require(user(Role.OPERATOR), Act.SIGN)
