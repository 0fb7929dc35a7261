"""Sessions in their table, by the hash of their token."""

from datetime import datetime

from sqlalchemy import Connection, delete, insert, select, update

from coilwright.accounts.session import Session, SessionRule, ending
from coilwright.accounts.tables import SESSION, time_of, time_text


def session_in(connection: Connection, token_hash: str) -> Session | None:
    """The session of that token's hash, over or not."""
    query = select(SESSION).where(SESSION.c.token_hash == token_hash)
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    return Session(
        token_hash=row.token_hash,
        name_key=row.name_key,
        created_at=time_of(row.created_at),
        last_seen_at=time_of(row.last_seen_at),
        case_open=bool(row.case_open),
    )


def put_session(connection: Connection, session: Session) -> None:
    """A new session."""
    connection.execute(
        insert(SESSION).values(
            token_hash=session.token_hash,
            name_key=session.name_key,
            created_at=time_text(session.created_at),
            last_seen_at=time_text(session.last_seen_at),
            case_open=session.case_open,
        )
    )


def note_seen(
    connection: Connection, token_hash: str, now: datetime, *, case_open: bool | None = None
) -> None:
    """Seen now; where ``case_open`` is given, with that flag from now on."""
    flag = {} if case_open is None else {"case_open": case_open}
    change = update(SESSION).where(SESSION.c.token_hash == token_hash)
    connection.execute(change.values(last_seen_at=time_text(now), **flag))


def drop_session(connection: Connection, token_hash: str) -> None:
    """End one session."""
    connection.execute(delete(SESSION).where(SESSION.c.token_hash == token_hash))


def drop_sessions_of(connection: Connection, name_key: str) -> int:
    """End every session of a user; how many there were."""
    return connection.execute(delete(SESSION).where(SESSION.c.name_key == name_key)).rowcount


def drop_ended(connection: Connection, name_key: str, now: datetime, rule: SessionRule) -> None:
    """Take a user's sessions that are over out of the table."""
    query = select(SESSION.c.token_hash).where(SESSION.c.name_key == name_key)
    for key in connection.execute(query).scalars().all():
        session = session_in(connection, key)
        if session is not None and ending(session, now, rule) is not None:
            drop_session(connection, key)
