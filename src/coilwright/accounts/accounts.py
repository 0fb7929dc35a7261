"""The accounts of one record: what every use of them needs, opened once."""

from dataclasses import dataclass, field

from coilwright.accounts.password_hash import Passwords
from coilwright.accounts.schema import ready_tables
from coilwright.accounts.secret_rows import stored_hash
from coilwright.accounts.session import SessionRule
from coilwright.accounts.user import name_key
from coilwright.accounts.user_rows import users_in
from coilwright.accounts.users import Users
from coilwright.accounts.waiting import SignInLimiter
from coilwright.store import RecordStore


@dataclass(frozen=True, slots=True, kw_only=True)
class Accounts:
    """A record with the accounts' tables in it; ``open_accounts`` makes one."""

    store: RecordStore
    passwords: Passwords = field(default_factory=Passwords)
    limiter: SignInLimiter = field(default_factory=SignInLimiter)
    session_rule: SessionRule = field(default_factory=SessionRule)

    def users(self) -> Users:
        """Everybody with an account, as the record adds it up now."""
        with self.store.reading() as connection:
            return users_in(connection, self.store.name)

    def somebody_can_sign_in(self) -> bool:
        """Whether an enabled user has a password here; after a restore nobody has."""
        with self.store.reading() as connection:
            users = users_in(connection, self.store.name).all
            return any(
                user.enabled and stored_hash(connection, name_key(user.name)) is not None
                for user in users
            )


def open_accounts(store: RecordStore, *, passwords: Passwords | None = None) -> Accounts:
    """The accounts of a record, their tables made where they are not there yet.

    Raises
    ------
    RecordProblem
        A newer version made the tables, or the database cannot be written to.
    """
    ready_tables(store)
    return Accounts(store=store, passwords=passwords or Passwords())
