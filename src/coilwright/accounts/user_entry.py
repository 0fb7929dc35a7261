"""Facts about users as entries of the stream ``accounts``, and back."""

from datetime import datetime
from typing import cast
from uuid import UUID

from coilwright.accounts.user_facts import (
    UserCreated,
    UserDisabled,
    UserEnabled,
    UserFact,
    UserPasswordChanged,
    UserRolesChanged,
)
from coilwright.record import Entry, UnreadableEntry
from coilwright.record.entry_payload import payload_of, read_payload

ACCOUNTS = "accounts"
USER_KINDS: dict[str, type[UserFact]] = {
    "user_created": UserCreated,
    "user_roles_changed": UserRolesChanged,
    "user_password_changed": UserPasswordChanged,
    "user_disabled": UserDisabled,
    "user_enabled": UserEnabled,
}
_KIND_OF = {shape: kind for kind, shape in USER_KINDS.items()}


def user_entry(fact: UserFact, *, id: UUID, at: datetime, author: str) -> Entry:
    """A draft of the entry that holds the fact, written down as it happens."""
    return Entry(
        id=id,
        stream=ACCOUNTS,
        seq=0,
        at=at,
        recorded_at=at,
        author=author,
        kind=_KIND_OF[type(fact)],
        payload=payload_of(fact),
    )


def user_fact(entry: Entry) -> UserFact:
    """The fact that an entry holds.

    Raises
    ------
    UnreadableEntry
        Its kind is not one of the accounts', or its payload is not what that kind holds; a field
        more is refused too, since leaving it out might change the meaning.
    """
    shape = USER_KINDS.get(entry.kind)
    if shape is None:
        raise UnreadableEntry(f"the accounts have no entries of the kind {entry.kind}")
    return cast(UserFact, read_payload(shape, entry.payload, id=entry.id, kind=entry.kind))
