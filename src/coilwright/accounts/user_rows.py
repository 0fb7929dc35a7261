"""The users as a connection sees them: inside a transaction too, before it is over."""

from sqlalchemy import Connection, select

from coilwright.accounts.user_entry import ACCOUNTS
from coilwright.accounts.users import Users, fold_users
from coilwright.record import UnreadableEntry
from coilwright.store import DamagedRecord
from coilwright.store.rows import UnreadableRow, entry_of
from coilwright.store.tables import ENTRY


def users_in(connection: Connection, record: str) -> Users:
    """Everybody with an account.

    Raises
    ------
    DamagedRecord
        An entry of the accounts cannot be read.
    """
    query = select(ENTRY).where(ENTRY.c.stream == ACCOUNTS).order_by(ENTRY.c.seq)
    try:
        return fold_users(entry_of(row) for row in connection.execute(query).mappings())
    except (UnreadableRow, UnreadableEntry) as error:
        raise DamagedRecord(record, "an entry of the accounts cannot be read") from error
