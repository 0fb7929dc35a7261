"""Which addresses are this machine alone."""

import ipaddress


def is_loopback(host: str) -> bool:
    """Whether a host name or address (IPv6 with or without brackets) is this machine alone.

    Examples
    --------
    >>> [is_loopback(host) for host in ("127.0.0.1", "[::1]", "localhost", "0.0.0.0", "a.example")]
    [True, True, True, False, False]

    References
    ----------
    127.0.0.0/8 and ::1: RFC 6890, tables 4 and 17; localhost: RFC 6761, 6.3.
    """
    if host.lower() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.removeprefix("[").removesuffix("]")).is_loopback
    except ValueError:
        return False
