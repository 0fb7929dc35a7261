"""Hashes of passwords: argon2id as RFC 9106 names its parameters."""

import base64
import unicodedata

import pytest
from argon2 import PasswordHasher

from accounts.invented import PASSWORD, QUICK
from coilwright.accounts import Passwords
from coilwright.accounts.password_hash import WRONG


class CountingHasher(PasswordHasher):
    """Counts how often a password is compared with a hash."""

    compared = 0

    def verify(self, hash: str | bytes, password: str | bytes) -> bool:  # type: ignore[override]  # typed True
        self.compared += 1
        return super().verify(hash, password)


def test_a_hash_has_the_second_recommended_parameters_of_rfc_9106() -> None:
    # RFC 9106, section 4: argon2id, t = 3, p = 4 lanes, m = 2**16 KiB, 128 bit salt, 256 bit tag;
    # version 0x13 (section 3.1).
    kind, version, cost, salt, tag = Passwords().hashed(PASSWORD).split("$")[1:]
    assert kind == "argon2id"
    assert version == f"v={0x13}"
    assert cost == f"m={2**16},t=3,p=4"
    assert len(base64.b64decode(salt + "==")) * 8 == 128
    assert len(base64.b64decode(tag + "=")) * 8 == 256


def test_a_hash_that_another_program_made_is_understood_and_counts_as_outdated() -> None:
    # The example in the README of the reference implementation, phc-winner-argon2:
    # echo -n "password" | ./argon2 somesalt -t 2 -m 16 -p 4 -l 24
    tag = bytes.fromhex("45d7ac72e76f242b20b77b9bf9bf9d5915894e669a24e6c6")
    theirs = f"$argon2i$v=19$m=65536,t=2,p=4$c29tZXNhbHQ${base64.b64encode(tag).decode()}"
    check = QUICK.check(theirs, "password")
    assert (check.right, check.outdated) == (True, True)
    assert QUICK.check(theirs, "Password") == WRONG


def test_the_same_password_is_hashed_with_a_new_salt_each_time() -> None:
    one, other = QUICK.hashed(PASSWORD), QUICK.hashed(PASSWORD)
    assert one != other
    assert QUICK.check(one, PASSWORD).right
    assert QUICK.check(other, PASSWORD).right
    assert not QUICK.check(one, PASSWORD).outdated


def test_a_password_is_the_same_however_its_accents_were_typed() -> None:
    # U+00E9 is canonically e with U+0301: Unicode Standard Annex 15, 1.1.
    composed = "caf\u00e9 at the quay"
    typed_apart = unicodedata.normalize("NFD", composed)
    assert composed != typed_apart
    assert QUICK.check(QUICK.hashed(composed), typed_apart).right


@pytest.mark.parametrize("stored", ["", "no hash at all", "$argon2id$v=19$m=8"])
def test_a_stored_text_that_is_no_hash_fits_no_password(stored: str) -> None:
    assert QUICK.check(stored, PASSWORD) == WRONG


def test_every_cause_of_a_no_compares_one_hash() -> None:
    hasher = CountingHasher(time_cost=1, memory_cost=8, parallelism=1)
    passwords = Passwords(hasher)
    stored = passwords.hashed(PASSWORD)
    for given_hash, password in (
        (stored, PASSWORD),
        (stored, "wrong"),
        (None, PASSWORD),
        (None, "nobody's password"),
        (stored, "w" * 100_000),
        (stored, "\ud800"),
    ):
        before = hasher.compared
        right = passwords.check(given_hash, password).right
        assert right == (given_hash == stored and password == PASSWORD)
        assert hasher.compared == before + 1
