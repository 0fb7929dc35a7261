"""Where the server may listen."""

import socket

import pytest

from coilwright.web import ListeningRefused, open_loopback


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "127.0.0.2"])
def test_port_zero_opens_a_free_port_on_loopback_alone(host: str) -> None:
    with open_loopback(host, 0) as sock:
        address, port = sock.getsockname()
        assert address.startswith("127.")
        assert port > 0
        with socket.create_connection((address, port), timeout=5):
            pass


@pytest.mark.parametrize("host", ["0.0.0.0", "", "10.0.0.1", "::ffff:10.0.0.1", "host.example"])
def test_any_other_address_is_refused(host: str) -> None:
    with pytest.raises(ListeningRefused, match=r"--host: .*accounts and TLS.*use 127\.0\.0\.1"):
        open_loopback(host, 0)


def test_a_port_that_cannot_exist_is_refused() -> None:
    # TCP ports end at 65535 (RFC 9293, 3.1).
    with pytest.raises(ListeningRefused, match=r"--port: port 65536 cannot be used"):
        open_loopback("127.0.0.1", 65536)
