"""Slower and slower for who guesses: attempts to sign in, counted by name and by address.

Kept in memory, not in the record: a flood of attempts must not take the writer's turn from the
room (docs/decisions/0007). Only signing in waits; a session that is open never does.
"""

import ipaddress
import threading
from dataclasses import dataclass
from datetime import datetime

MOST_KEYS = 10_000
MOST_KEY_CHARACTERS = 100


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitRule:
    """How many failures cost nothing, and how the wait grows after them: twice with each."""

    free_failures: int
    first_wait_s: float
    longest_wait_s: float
    forgotten_after_s: float


# Waits that grow from 30 s up to an hour at most are named by NIST SP 800-63B (2017), 5.2.2; the
# counts are ours. Many people may come from one address (a proxy), so it has more of them.
NAME_RULE = WaitRule(
    free_failures=5, first_wait_s=30.0, longest_wait_s=900.0, forgotten_after_s=86_400.0
)
ADDRESS_RULE = WaitRule(
    free_failures=50, first_wait_s=30.0, longest_wait_s=900.0, forgotten_after_s=86_400.0
)


def wait_after_s(failures: int, rule: WaitRule) -> float:
    """The wait that so many failures in a row cost.

    Examples
    --------
    >>> [wait_after_s(failures, NAME_RULE) for failures in (4, 5, 6, 100)]
    [0.0, 30.0, 60.0, 900.0]
    """
    over = failures - rule.free_failures
    if over < 0:
        return 0.0
    doublings = min(over, 32)  # beyond any longest wait, and no float overflows
    return float(min(rule.first_wait_s * 2**doublings, rule.longest_wait_s))


def address_key(address: str) -> str:
    """What counts as one address: an IPv6 site has 2**64 of them in one network.

    Examples
    --------
    >>> address_key("2001:db8::1") == address_key("2001:db8::2")
    True
    >>> address_key("::ffff:192.0.2.7")
    '192.0.2.7'
    """
    try:
        known = ipaddress.ip_address(address)
    except ValueError:
        return address[:MOST_KEY_CHARACTERS]
    if isinstance(known, ipaddress.IPv4Address):
        return str(known)
    if known.ipv4_mapped is not None:
        return str(known.ipv4_mapped)
    return str(ipaddress.ip_network((known, 64), strict=False))


class SignInLimiter:
    """Counts attempts; one for a whole server, used by all its threads."""

    def __init__(
        self, *, name_rule: WaitRule = NAME_RULE, address_rule: WaitRule = ADDRESS_RULE
    ) -> None:
        self._names, self._addresses = _Tally(name_rule), _Tally(address_rule)
        self._lock = threading.Lock()

    def attempt(self, name: str, address: str, now: datetime) -> float:
        """Seconds to wait; where none, the attempt counts as a failure until it succeeded.

        Counted before it is checked, so that a hundred at the same moment are not all the first.
        """
        name, address = name[:MOST_KEY_CHARACTERS], address_key(address)
        with self._lock:
            wait_s = max(self._names.wait_s(name, now), self._addresses.wait_s(address, now))
            if wait_s == 0.0:
                self._names.count(name, now)
                self._addresses.count(address, now)
            return wait_s

    def succeeded(self, name: str, address: str) -> None:
        """The name starts again from none; the address only gets this attempt back.

        Otherwise somebody with an account could guess at others' without ever waiting.
        """
        with self._lock:
            self._names.forget(name[:MOST_KEY_CHARACTERS])
            self._addresses.take_back(address_key(address))


class _Tally:
    """Failures in a row and the time of the last, for each key; the oldest go when it is full."""

    def __init__(self, rule: WaitRule) -> None:
        self._rule = rule
        self._failures: dict[str, tuple[int, datetime]] = {}

    def wait_s(self, key: str, now: datetime) -> float:
        failures, last = self._known(key, now)
        whole = wait_after_s(failures, self._rule)
        # A clock that was set back makes nobody wait longer than the rule says.
        return min(max(0.0, whole - (now - last).total_seconds()), whole)

    def count(self, key: str, now: datetime) -> None:
        failures, _ = self._known(key, now)
        self._failures.pop(key, None)
        while len(self._failures) >= MOST_KEYS:
            del self._failures[next(iter(self._failures))]
        self._failures[key] = (failures + 1, now)

    def forget(self, key: str) -> None:
        self._failures.pop(key, None)

    def take_back(self, key: str) -> None:
        if key in self._failures:
            failures, last = self._failures[key]
            self._failures[key] = (max(0, failures - 1), last)

    def _known(self, key: str, now: datetime) -> tuple[int, datetime]:
        failures, last = self._failures.get(key, (0, now))
        if (now - last).total_seconds() > self._rule.forgotten_after_s:
            return 0, now
        return failures, last
