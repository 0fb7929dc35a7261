"""The tables that queries see are those that the migration makes, on both databases."""

from sqlalchemy import inspect

from coilwright.accounts import Accounts
from coilwright.accounts.tables import METADATA


def test_queries_see_the_tables_that_the_migration_makes(accounts: Accounts) -> None:
    with accounts.store.reading() as connection:
        found = inspect(connection)
        for table in METADATA.sorted_tables:
            made = {c["name"]: bool(c["nullable"]) for c in found.get_columns(table.name)}
            assert made == {column.name: bool(column.nullable) for column in table.columns}
            keys = found.get_pk_constraint(table.name)["constrained_columns"]
            assert keys == [column.name for column in table.primary_key]
            indexes = {
                index["name"]: index["column_names"] for index in found.get_indexes(table.name)
            }
            assert indexes == {
                str(index.name): [column.name for column in index.columns]
                for index in table.indexes
            }
