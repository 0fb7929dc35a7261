"""The session's cookie, as values for the web edge."""

from dataclasses import dataclass
from typing import Literal

NAME = "coilwright-session"


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionCookie:
    """Attributes of a cookie (RFC 6265, 4.1.2); it names no domain, so one host alone gets it.

    ``max_age_s`` is None for a cookie that goes when the browser does: the record, not the
    browser, says when a session ends.
    """

    name: str
    value: str
    secure: bool
    http_only: bool = True
    same_site: Literal["strict"] = "strict"
    path: str = "/"
    max_age_s: int | None = None


def session_cookie(token: str, *, secure: bool) -> SessionCookie:
    """The cookie of a session; ``secure`` unless the server is plain HTTP on loopback."""
    return SessionCookie(name=cookie_name(secure=secure), value=token, secure=secure)


def ended_cookie(*, secure: bool) -> SessionCookie:
    """What takes the cookie out of the browser."""
    name = cookie_name(secure=secure)
    return SessionCookie(name=name, value="", secure=secure, max_age_s=0)


def cookie_name(*, secure: bool) -> str:
    """With the prefix for which browsers refuse the cookie from anywhere but this host over TLS.

    References
    ----------
    "Cookies: HTTP State Management Mechanism" (RFC 6265bis draft), 4.1.3.2.
    """
    return f"__Host-{NAME}" if secure else NAME
