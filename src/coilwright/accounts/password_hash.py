"""Passwords as argon2id hashes, and a check that takes as long for an unknown user."""

import unicodedata
from dataclasses import dataclass
from functools import cached_property

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from coilwright.accounts.password_rule import MOST_CHARACTERS

NOBODYS = "nobody's password"


@dataclass(frozen=True, slots=True, kw_only=True)
class PasswordCheck:
    """Whether it was right, and whether its hash was made with parameters of another day."""

    right: bool
    outdated: bool


WRONG = PasswordCheck(right=False, outdated=False)


class Passwords:
    """Makes and checks hashes with the library's own parameters of argon2id (RFC 9106).

    Both take about 0.2 s and 64 MiB on purpose: never inside a transaction.
    """

    def __init__(self, hasher: PasswordHasher | None = None) -> None:
        self._hasher = hasher or PasswordHasher()

    def hashed(self, password: str) -> str:
        """A hash in the PHC text form, with a new salt."""
        return self._hasher.hash(_bytes_of(password))

    def check(self, stored: str | None, password: str) -> PasswordCheck:
        """Compare with a stored hash; without one, work as long and say no."""
        if stored is None or len(password) > MOST_CHARACTERS:
            self._verified(self._nobodys, password[:MOST_CHARACTERS])
            return WRONG
        if not self._verified(stored, password):
            return WRONG
        return PasswordCheck(right=True, outdated=self._hasher.check_needs_rehash(stored))

    def _verified(self, stored: str, password: str) -> bool:
        try:
            return self._hasher.verify(stored, _bytes_of(password))
        except (VerificationError, InvalidHashError):
            return False

    @cached_property
    def _nobodys(self) -> str:
        return self.hashed(NOBODYS)


def _bytes_of(password: str) -> bytes:
    """One spelling of the same characters (NFKC: NIST SP 800-63B, 2017, 5.1.1.2), as bytes."""
    # Half characters pass: they may come from anywhere, and no stored password holds one.
    return unicodedata.normalize("NFKC", password).encode("utf-8", "surrogatepass")
