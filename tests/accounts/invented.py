"""Invented users, times and passwords for the tests of the accounts."""

from datetime import UTC, datetime, timedelta

from argon2 import PasswordHasher

from coilwright.accounts import Accounts, Changer, Passwords, Role, User, create_user

START = datetime(2026, 3, 12, 8, 30, tzinfo=UTC)
# The least that RFC 9106, 3.1 allows: one pass, 8 KiB, one lane.
QUICK = Passwords(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1))
PASSWORD = "a kettle on the third shelf"
ELSEWHERE = "192.0.2.7"  # kept for examples: RFC 5737


def after(**span: float) -> datetime:
    """A moment so long after the start."""
    return START + timedelta(**span)


def changer(at: datetime = START) -> Changer:
    """An invented administrator at work."""
    return Changer(author="M. Keeper", at=at)


def added(accounts: Accounts, name: str, *roles: Role, password: str = PASSWORD) -> User:
    """A user with that name; an operator where no role is named."""
    return create_user(
        accounts,
        name=name,
        full_name=f"Dr {name}",
        roles=roles or (Role.OPERATOR,),
        password=password,
        by=changer(),
    )
