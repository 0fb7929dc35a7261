"""Whether a server may listen where others can reach it."""

import ipaddress

from coilwright.errors import Problem

# What is missing, and the mend.
ACCOUNTS = ("user who may sign in", "add one with coilwright user add")
TLS = ("TLS", "give a certificate and its key, or name the proxy that ends TLS")


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


def may_listen(
    host: str, *, has_accounts: bool, has_tls: bool, trusted_proxy: str | None = None
) -> Problem | None:
    """What forbids to listen on ``host``; None where nothing does.

    Parameters
    ----------
    has_accounts
        Somebody can sign in.
    trusted_proxy
        The address of a proxy that ends TLS for this server, stated by the site.

    Examples
    --------
    >>> may_listen("127.0.0.1", has_accounts=False, has_tls=False) is None
    True
    """
    if trusted_proxy is not None and not _one_address(trusted_proxy):
        found = f"{trusted_proxy} is not the address of one machine"
        return Problem(field="--trusted-proxy", found=found, mend="give the proxy's own address")
    if is_loopback(host):
        return None
    needs_tls = not has_tls and trusted_proxy is None
    if has_accounts and not needs_tls:
        return None
    lacks = [ACCOUNTS] * (not has_accounts) + [TLS] * needs_tls
    found = (
        f"{host} is not a loopback address, and accounts and TLS, without which no other machine "
        f"may come in, are not both there: no {' and no '.join(what for what, _ in lacks)}"
    )
    mends = "; ".join(mend for _, mend in lacks)
    return Problem(field="--host", found=found, mend=f"{mends}; or use 127.0.0.1")


def _one_address(text: str) -> bool:
    try:
        known = ipaddress.ip_address(text)
    except ValueError:
        return False
    return not (known.is_unspecified or known.is_multicast)
