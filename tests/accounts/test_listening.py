"""Where a server may listen: this machine, or wider only with accounts and TLS."""

from itertools import product

import pytest

from coilwright.accounts import is_loopback, may_listen

LOOPBACK = ["127.0.0.1", "127.8.9.10", "::1", "[::1]", "localhost", "LocalHost"]
# 192.0.2.0/24, .example and 2001:db8::/32 are kept for examples: RFC 5737, RFC 2606, RFC 3849.
WIDER = ["0.0.0.0", "192.0.2.7", "::", "[::]", "2001:db8::1", "station.example", ""]
PROXY = "192.0.2.80"


@pytest.mark.parametrize("host", LOOPBACK)
def test_this_machine_alone_needs_nothing(host: str) -> None:
    assert is_loopback(host)
    for accounts, tls in product((True, False), repeat=2):
        assert may_listen(host, has_accounts=accounts, has_tls=tls) is None


@pytest.mark.parametrize("host", WIDER)
def test_others_may_come_in_only_with_accounts_and_tls_or_a_trusted_proxy(host: str) -> None:
    assert not is_loopback(host)
    for accounts, tls, proxy in product((True, False), (True, False), (None, PROXY)):
        problem = may_listen(host, has_accounts=accounts, has_tls=tls, trusted_proxy=proxy)
        assert (problem is None) == (accounts and (tls or proxy is not None))


def test_what_is_missing_is_named_with_its_mend() -> None:
    nothing = str(may_listen("192.0.2.7", has_accounts=False, has_tls=False))
    assert nothing.startswith("--host: 192.0.2.7 is not a loopback address, and accounts and TLS")
    assert "no user who may sign in and no TLS" in nothing
    assert nothing.endswith("or use 127.0.0.1")
    no_tls = str(may_listen("192.0.2.7", has_accounts=True, has_tls=False))
    assert "no TLS" in no_tls
    assert "certificate" in no_tls
    assert "coilwright user add" not in no_tls
    no_user = str(may_listen("192.0.2.7", has_accounts=False, has_tls=True))
    assert "coilwright user add" in no_user
    assert "certificate" not in no_user


@pytest.mark.parametrize("proxy", ["*", "0.0.0.0", "::", "proxy.example", "", "224.0.0.1"])
def test_a_proxy_is_one_address(proxy: str) -> None:
    problem = may_listen("192.0.2.7", has_accounts=True, has_tls=False, trusted_proxy=proxy)
    assert "--trusted-proxy" in str(problem)
