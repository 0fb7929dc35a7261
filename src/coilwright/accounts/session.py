"""Sessions: a random token in the browser, its hash here, and when it ends."""

import hashlib
import hmac
import secrets
from dataclasses import dataclass
from datetime import datetime
from enum import Enum

TOKEN_BYTES = 32  # 256 bits
CSRF_PURPOSE = b"coilwright form token 1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One sign-in. ``case_open`` says that a case is open on that screen."""

    token_hash: str
    name_key: str
    created_at: datetime
    last_seen_at: datetime
    case_open: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionRule:
    """How long a session lives: unused, in all, and in all where a case is open.

    30 minutes and 12 hours: NIST SP 800-63B (2017), 4.2.3 (its middle level). While a case is open
    nothing locks for want of a touch; a day, without a source, ends a case that was left open.
    """

    idle_s: float = 1_800.0
    longest_s: float = 43_200.0
    longest_with_case_open_s: float = 86_400.0
    noted_every_s: float = 60.0


class Ending(Enum):
    """Why a session is over."""

    UNUSED = "unused"
    TOO_OLD = "too old"


def ending(session: Session, now: datetime, rule: SessionRule) -> Ending | None:
    """Why the session is over; None while it lives."""
    age_s = (now - session.created_at).total_seconds()
    longest_s = rule.longest_with_case_open_s if session.case_open else rule.longest_s
    if age_s >= longest_s:
        return Ending.TOO_OLD
    idle_s = (now - session.last_seen_at).total_seconds()
    if not session.case_open and idle_s >= rule.idle_s:
        return Ending.UNUSED
    return None


def worth_noting(session: Session, now: datetime, rule: SessionRule) -> bool:
    """Whether the last sight is old enough to be written again; not every request writes."""
    return (now - session.last_seen_at).total_seconds() >= rule.noted_every_s


def new_token() -> str:
    """A token that nobody can guess, safe in a cookie."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def token_hash(token: str) -> str:
    """What the record keeps of a token: whoever reads it there cannot sign in with it."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()


def form_token(token: str) -> str:
    """The token that every form of this session carries against forged requests (CSRF).

    Made from the session's own token, so it belongs to that session alone and needs no row.
    """
    key = token.encode("utf-8", "surrogatepass")
    return hmac.new(key, CSRF_PURPOSE, hashlib.sha256).hexdigest()


def form_token_fits(token: str, given: str) -> bool:
    """Whether a form was made for this session; takes as long whatever is given."""
    right = form_token(token).encode()
    return hmac.compare_digest(right, given.encode("utf-8", "surrogatepass"))
