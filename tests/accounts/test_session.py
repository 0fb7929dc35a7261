"""Sessions: how long they live, and tokens that are bound to them."""

import hashlib
from dataclasses import replace

import pytest

from accounts.invented import START, after
from coilwright.accounts import Session, SessionRule, form_token, form_token_fits
from coilwright.accounts.session import (
    CSRF_PURPOSE,
    TOKEN_BYTES,
    Ending,
    ending,
    new_token,
    token_hash,
    worth_noting,
)

RULE = SessionRule()
SESSION = Session(token_hash="0" * 64, name_key="a.kestrel", created_at=START, last_seen_at=START)


# NIST SP 800-63B (2017), 4.2.3: again after 30 minutes without activity, and after 12 hours.
def test_a_session_ends_after_thirty_minutes_without_use() -> None:
    assert ending(SESSION, after(minutes=29, seconds=59), RULE) is None
    assert ending(SESSION, after(minutes=30), RULE) is Ending.UNUSED


def test_a_session_ends_after_twelve_hours_however_much_it_is_used() -> None:
    used = replace(SESSION, last_seen_at=after(hours=12))
    assert ending(replace(used, last_seen_at=after(hours=11.9)), after(hours=11.99), RULE) is None
    assert ending(used, after(hours=12), RULE) is Ending.TOO_OLD


def test_nothing_locks_while_a_case_is_open() -> None:
    in_the_room = replace(SESSION, case_open=True)
    for hours in (1, 6, 12, 23.9):
        assert ending(in_the_room, after(hours=hours), RULE) is None
    assert ending(in_the_room, after(hours=24), RULE) is Ending.TOO_OLD


def test_a_clock_that_was_set_back_ends_no_session() -> None:
    assert ending(SESSION, after(days=-2), RULE) is None


def test_a_sight_is_written_again_only_after_a_minute() -> None:
    assert not worth_noting(SESSION, after(seconds=59), RULE)
    assert worth_noting(SESSION, after(seconds=60), RULE)


def test_a_token_has_256_bits_and_goes_into_a_cookie() -> None:
    tokens = {new_token() for _ in range(1_000)}
    assert TOKEN_BYTES * 8 == 256
    assert len(tokens) == 1_000
    # 256 bits in base64: 43 characters of 6 bits (RFC 4648, 5), which RFC 6265, 4.1.1 allows.
    assert {len(token) for token in tokens} == {43}
    assert set("".join(tokens)) <= set(
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    )


def test_a_token_is_kept_as_its_sha_256() -> None:
    # FIPS 180-2, B.1: the message "abc".
    expected = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert token_hash("abc") == expected


def test_a_form_token_is_the_hmac_of_the_sessions_token() -> None:
    # RFC 2104, 2: H(K xor opad, H(K xor ipad, text)), worked here step by step.
    token = new_token()
    key = token.encode().ljust(64, b"\0")
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in key) + CSRF_PURPOSE).digest()
    assert form_token(token) == hashlib.sha256(bytes(b ^ 0x5C for b in key) + inner).hexdigest()


@pytest.mark.parametrize("given", ["", "0" * 64, "\ud800", "é"])
def test_a_form_of_another_session_does_not_fit(given: str) -> None:
    mine, other = new_token(), new_token()
    assert form_token_fits(mine, form_token(mine))
    assert not form_token_fits(mine, form_token(other))
    assert not form_token_fits(mine, given)
