"""The users folded from the entries of their stream."""

from datetime import timedelta
from itertools import count
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.invented import START
from coilwright.accounts import Role
from coilwright.accounts.user import MOST_NAME_CHARACTERS, name_key, name_problem
from coilwright.accounts.user_entry import USER_KINDS, user_entry, user_fact
from coilwright.accounts.user_facts import (
    UserCreated,
    UserDisabled,
    UserEnabled,
    UserFact,
    UserPasswordChanged,
    UserRolesChanged,
)
from coilwright.accounts.users import fold_users
from coilwright.record import Entry, UnreadableEntry

NAME = "a.kestrel"
CREATED = UserCreated(name=NAME, full_name="A. Kestrel", roles=(Role.SCRIBE,))


def entries(*facts: UserFact) -> list[Entry]:
    """The facts as entries, an hour apart."""
    return [
        user_entry(fact, id=UUID(int=n + 1), at=START + timedelta(hours=n), author="M. Keeper")
        for n, fact in enumerate(facts)
    ]


def test_a_user_is_as_the_last_change_says() -> None:
    users = fold_users(
        entries(
            CREATED,
            UserRolesChanged(name="A.Kestrel", roles=(Role.OPERATOR, Role.ADMINISTRATOR)),
            UserPasswordChanged(name=NAME),
            UserDisabled(name=NAME),
        )
    )
    (user,) = users.all
    assert (user.name, user.full_name) == (NAME, "A. Kestrel")
    assert user.roles == {Role.OPERATOR, Role.ADMINISTRATOR}
    assert user.created_at == START
    assert user.password_changed_at == START + timedelta(hours=2)
    assert user.disabled_at == START + timedelta(hours=3)
    assert users.administrators == ()


def test_an_enabled_user_is_as_before_being_disabled() -> None:
    before = fold_users(entries(CREATED))
    after = fold_users(entries(CREATED, UserDisabled(name=NAME), UserEnabled(name=NAME)))
    assert after == before


def test_a_user_is_found_however_the_name_is_written() -> None:
    users = fold_users(entries(CREATED))
    # Fullwidth letters: U+FF21 and on (Unicode, "Halfwidth and Fullwidth Forms").
    for written in ("A.KESTREL", "a.Kestrel", "\uff41.kestrel"):
        assert users.named(written) == users.all[0]
    assert users.named("a.kestre") is None


@given(st.text())
def test_the_key_of_a_name_is_its_own_key(name: str) -> None:
    assert name_key(name_key(name)) == name_key(name)


@given(st.lists(st.sampled_from(list(Role)), min_size=1), st.sampled_from(["a", "b", "c"]))
def test_a_fact_reads_back_from_its_entry(roles: list[Role], name: str) -> None:
    once = tuple(role for role in Role if role in roles)
    for fact in (
        UserCreated(name=name, full_name="Somebody", roles=once),
        UserRolesChanged(name=name, roles=once),
        UserPasswordChanged(name=name),
        UserDisabled(name=name),
        UserEnabled(name=name),
    ):
        (entry,) = entries(fact)
        assert user_fact(entry) == fact
        assert USER_KINDS[entry.kind] is type(fact)


@pytest.mark.parametrize(
    ("facts", "wrong"),
    [
        ([UserDisabled(name=NAME)], "names an unknown user"),
        ([CREATED, CREATED], "creates a user who is there"),
    ],
)
def test_what_cannot_have_happened_is_refused(facts: list[UserFact], wrong: str) -> None:
    with pytest.raises(UnreadableEntry, match=wrong):
        fold_users(entries(*facts))


@pytest.mark.parametrize(
    ("kind", "payload"),
    [
        ("user_renamed", {"name": NAME}),
        ("user_disabled", {}),
        ("user_disabled", {"name": NAME, "until": "tomorrow"}),
        ("user_roles_changed", {"name": NAME, "roles": ["owner"]}),
        ("user_roles_changed", {"name": NAME, "roles": []}),
        ("user_created", {"name": " ", "full_name": "A", "roles": ["reader"]}),
    ],
)
def test_an_entry_that_holds_no_fact_is_refused(kind: str, payload: dict[str, object]) -> None:
    entry = Entry(
        id=UUID(int=1),
        stream="accounts",
        seq=0,
        at=START,
        recorded_at=START,
        author="M. Keeper",
        kind=kind,
        payload=payload,
    )
    with pytest.raises(UnreadableEntry, match=kind):
        user_fact(entry)


def test_no_fact_has_a_field_for_a_secret() -> None:
    fields = {name for fact in USER_KINDS.values() for name in fact.__dataclass_fields__}
    assert fields == {"name", "full_name", "roles"}


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("", "empty"),
        ("  ", "empty"),
        (" a.kestrel", "starts or ends with a space"),
        ("a\x00kestrel", "not printed"),
        ("a\u202ekestrel", "not printed"),  # turns what follows round on the screen
        ("k" * (MOST_NAME_CHARACTERS + 1), "65 characters"),
    ],
)
def test_a_name_that_cannot_be_read_out_is_refused(name: str, found: str) -> None:
    assert found in str(name_problem(name))


def test_names_of_people_everywhere_are_taken() -> None:
    numbers = count()
    for name in ("a.kestrel", "Øystein Å", "李小龙", "k" * MOST_NAME_CHARACTERS):
        assert name_problem(name) is None, next(numbers)
