"""Signing in and out, and whose session a token is."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from coilwright.accounts.accounts import Accounts
from coilwright.accounts.problems import SignInMustWait, SignInRefused
from coilwright.accounts.secret_rows import replace_hash, stored_hash
from coilwright.accounts.session import Session, ending, new_token, token_hash, worth_noting
from coilwright.accounts.session_rows import (
    drop_ended,
    drop_session,
    drop_sessions_of,
    note_seen,
    put_session,
    session_in,
)
from coilwright.accounts.user import User, name_key
from coilwright.accounts.user_rows import users_in


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedIn:
    """A session, whose it is, and as that user is now."""

    session: Session
    user: User


def sign_in(
    accounts: Accounts, *, name: str, password: str, address: str, now: datetime
) -> tuple[str, SignedIn]:
    """Begin a session: its token, which is kept nowhere else, and the session.

    Raises
    ------
    SignInMustWait
        Too many attempts with this name or from this address.
    SignInRefused
        The name and the password do not belong together; takes as long for every cause.
    """
    key = name_key(name)
    wait_s = accounts.limiter.attempt(key, address, now)
    if wait_s > 0:
        raise SignInMustWait(wait_s)
    proven = _proven_hash(accounts, key, password)
    newer = accounts.passwords.hashed(password) if proven.outdated else None
    token = new_token()
    session = Session(token_hash=token_hash(token), name_key=key, created_at=now, last_seen_at=now)
    with accounts.store.writing() as connection:
        user = _still_allowed(accounts, connection, key, proven.stored)
        if newer is not None:
            replace_hash(connection, key, old=proven.stored, new=newer)
        drop_ended(connection, key, now, accounts.session_rule)
        put_session(connection, session)
    accounts.limiter.succeeded(key, address)
    return token, SignedIn(session=session, user=user)


def signed_in(
    accounts: Accounts, token: str, now: datetime, *, seen: bool = True
) -> SignedIn | None:
    """Whose session the token is; None where it is none, is over, or the user is disabled.

    ``seen`` is False for what a page asks for by itself: it keeps no session alive.
    """
    with accounts.store.reading() as connection:
        session = session_in(connection, token_hash(token))
        if session is None or ending(session, now, accounts.session_rule) is not None:
            return None
        user = users_in(connection, accounts.store.name).named(session.name_key)
    if user is None or not user.enabled:
        return None
    if seen and worth_noting(session, now, accounts.session_rule):
        with accounts.store.writing() as connection:
            note_seen(connection, session.token_hash, now)
    return SignedIn(session=session, user=user)


def hold_open(accounts: Accounts, token: str, now: datetime, *, case_open: bool) -> bool:
    """Say that a case was opened or closed on that screen; False where the session is over."""
    held = signed_in(accounts, token, now, seen=False)
    if held is None:
        return False
    with accounts.store.writing() as connection:
        note_seen(connection, held.session.token_hash, now, case_open=case_open)
    return True


def sign_out(accounts: Accounts, token: str) -> None:
    """End this session; one that is over already is no error."""
    with accounts.store.writing() as connection:
        drop_session(connection, token_hash(token))


def sign_out_everywhere(accounts: Accounts, name: str) -> int:
    """End every session of the user; how many there were."""
    with accounts.store.writing() as connection:
        return drop_sessions_of(connection, name_key(name))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Proven:
    """The stored hash that the password belongs to."""

    stored: str
    outdated: bool


def _proven_hash(accounts: Accounts, key: str, password: str) -> _Proven:
    with accounts.store.reading() as connection:
        user = users_in(connection, accounts.store.name).named(key)
        # Nobody's key where there is no such user: a name that was typed may hold anything.
        enabled = user is not None and user.enabled
        stored = stored_hash(connection, key if enabled else "")
    check = accounts.passwords.check(stored, password)
    if stored is None or not check.right:
        raise SignInRefused
    return _Proven(stored=stored, outdated=check.outdated)


def _still_allowed(accounts: Accounts, connection: Connection, key: str, stored: str) -> User:
    """The user, if neither the password nor the account changed while the hash was checked."""
    user = users_in(connection, accounts.store.name).named(key)
    if user is None or not user.enabled or stored_hash(connection, key) != stored:
        raise SignInRefused
    return user
