"""Password hashes in their table, one for each user, replaced when the password changes."""

from sqlalchemy import Connection, delete, insert, select, update

from coilwright.accounts.tables import SECRET


def stored_hash(connection: Connection, name_key: str) -> str | None:
    """The hash of a user's password; None where none was set here (after a restore)."""
    query = select(SECRET.c.password_hash).where(SECRET.c.name_key == name_key)
    return connection.execute(query).scalar_one_or_none()


def put_hash(connection: Connection, name_key: str, password_hash: str) -> None:
    """Keep this hash for the user, and no older one."""
    connection.execute(delete(SECRET).where(SECRET.c.name_key == name_key))
    connection.execute(insert(SECRET).values(name_key=name_key, password_hash=password_hash))


def replace_hash(connection: Connection, name_key: str, *, old: str, new: str) -> None:
    """A newer hash of the same password, unless the password was changed meanwhile."""
    same = (SECRET.c.name_key == name_key) & (SECRET.c.password_hash == old)
    connection.execute(update(SECRET).where(same).values(password_hash=new))
