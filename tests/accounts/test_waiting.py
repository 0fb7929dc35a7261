"""Guessing gets slower: counted by name and by address, with a clock that the test holds."""

from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from accounts.invented import ELSEWHERE, START, after
from coilwright.accounts import SignInLimiter, WaitRule
from coilwright.accounts.waiting import (
    ADDRESS_RULE,
    MOST_KEYS,
    NAME_RULE,
    address_key,
    wait_after_s,
)


def failures(limiter: SignInLimiter, name: str, address: str, number: int, at: datetime) -> None:
    for _ in range(number):
        assert limiter.attempt(name, address, at) == 0.0


@pytest.mark.parametrize("rule", [NAME_RULE, ADDRESS_RULE])
def test_waits_lie_between_thirty_seconds_and_an_hour(rule: WaitRule) -> None:
    # NIST SP 800-63B (2017), 5.2.2: "a period of time that increases ... (e.g., 30 seconds up to
    # an hour)".
    waits = [wait_after_s(number, rule) for number in range(1_000)]
    assert waits == sorted(waits)
    assert min(wait for wait in waits if wait) == 30.0
    assert max(waits) <= 3600.0
    assert wait_after_s(10**9, rule) == max(waits)


def test_the_wait_doubles_with_each_failure_after_the_free_ones() -> None:
    limiter = SignInLimiter()
    failures(limiter, "kestrel", ELSEWHERE, 5, START)
    # By hand: 30 s after the fifth, 60 s after the sixth, 120 s after the seventh.
    assert limiter.attempt("kestrel", ELSEWHERE, after(seconds=10)) == 20.0
    assert limiter.attempt("kestrel", ELSEWHERE, after(seconds=30)) == 0.0
    assert limiter.attempt("kestrel", ELSEWHERE, after(seconds=30)) == 60.0
    assert limiter.attempt("kestrel", ELSEWHERE, after(seconds=90)) == 0.0
    assert limiter.attempt("kestrel", ELSEWHERE, after(seconds=90)) == 120.0


def test_an_attempt_counts_before_it_is_known_how_it_ended() -> None:
    limiter = SignInLimiter()
    waits = [limiter.attempt("kestrel", ELSEWHERE, START) for _ in range(100)]
    assert waits.count(0.0) == NAME_RULE.free_failures


def test_an_attempt_that_must_wait_makes_the_wait_no_longer() -> None:
    limiter = SignInLimiter()
    failures(limiter, "kestrel", ELSEWHERE, 5, START)
    for second in range(30):
        assert limiter.attempt("kestrel", ELSEWHERE, after(seconds=second)) == 30.0 - second
    assert limiter.attempt("kestrel", ELSEWHERE, after(seconds=30)) == 0.0


def test_another_name_from_another_address_does_not_wait() -> None:
    limiter = SignInLimiter()
    failures(limiter, "kestrel", ELSEWHERE, 5, START)
    assert limiter.attempt("kestrel", "198.51.100.9", START) == 30.0
    assert limiter.attempt("heron", ELSEWHERE, START) == 0.0


def test_an_address_that_tries_many_names_waits() -> None:
    limiter = SignInLimiter()
    for number in range(ADDRESS_RULE.free_failures):
        assert limiter.attempt(f"name {number}", ELSEWHERE, START) == 0.0
    assert limiter.attempt("another", ELSEWHERE, START) == 30.0
    assert limiter.attempt("another", "198.51.100.9", START) == 0.0


def test_success_forgets_the_names_failures_but_not_the_addresses() -> None:
    limiter = SignInLimiter()
    for number in range(ADDRESS_RULE.free_failures - 1):
        assert limiter.attempt(f"name {number}", ELSEWHERE, START) == 0.0
    assert limiter.attempt("mine", ELSEWHERE, START) == 0.0
    limiter.succeeded("mine", ELSEWHERE)
    # The success is given back, the 49 guesses before it are not: one more is free.
    assert limiter.attempt("name 49", ELSEWHERE, START) == 0.0
    assert limiter.attempt("name 50", ELSEWHERE, START) == 30.0


def test_failures_of_yesterday_are_forgotten() -> None:
    limiter = SignInLimiter()
    failures(limiter, "kestrel", ELSEWHERE, 5, START)
    failures(limiter, "kestrel", ELSEWHERE, 5, after(days=1, seconds=1))


def test_a_clock_that_was_set_back_makes_no_wait_longer_than_the_rule() -> None:
    limiter = SignInLimiter()
    failures(limiter, "kestrel", ELSEWHERE, 5, START)
    assert limiter.attempt("kestrel", ELSEWHERE, after(days=-300)) == 30.0


def test_a_flood_of_names_takes_bounded_memory_and_forgets_the_oldest() -> None:
    limiter = SignInLimiter()
    failures(limiter, "kestrel", ELSEWHERE, 5, START)
    for number in range(MOST_KEYS):
        limiter.attempt(f"name {number}", f"10.0.{number // 250}.{number % 250}", START)
    assert len(limiter._names._failures) == MOST_KEYS
    assert limiter.attempt("kestrel", "198.51.100.9", START) == 0.0


@given(st.integers(0, 2**64 - 1), st.integers(0, 2**64 - 1))
def test_one_ipv6_network_counts_as_one_address(one: int, other: int) -> None:
    # RFC 4291, 2.5.4: a subnet's interface identifiers have 64 bits. 2001:db8::/32: RFC 3849.
    keys = {
        address_key(f"2001:db8:1:2:{':'.join(f'{n >> s & 0xFFFF:x}' for s in (48, 32, 16, 0))}")
        for n in (one, other)
    }
    assert keys == {"2001:db8:1:2::/64"}
    assert address_key("2001:db8:1:3::1") not in keys


def test_what_is_no_address_is_one_key_of_bounded_length() -> None:
    assert address_key("a wall screen") == "a wall screen"
    assert len(address_key("x" * 10_000)) == 100
