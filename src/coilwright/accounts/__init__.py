"""Users and their roles, passwords, sessions, and the log of who saw what."""

from coilwright.accounts.access_log import (
    ALL_LINES,
    AccessLine,
    AccessQuery,
    access_lines,
    note_access,
)
from coilwright.accounts.accounts import Accounts, open_accounts
from coilwright.accounts.cookie import SessionCookie, cookie_name, ended_cookie, session_cookie
from coilwright.accounts.listening import is_loopback, may_listen
from coilwright.accounts.password_hash import Passwords
from coilwright.accounts.password_rule import password_problem
from coilwright.accounts.problems import (
    AccountProblem,
    NotAllowed,
    SignInMustWait,
    SignInRefused,
)
from coilwright.accounts.role import MAY, Act, Role, role_words
from coilwright.accounts.session import Session, SessionRule, form_token, form_token_fits
from coilwright.accounts.sign_in import (
    SignedIn,
    hold_open,
    sign_in,
    sign_out,
    sign_out_everywhere,
    signed_in,
)
from coilwright.accounts.user import User, may, require
from coilwright.accounts.user_changes import (
    Changer,
    change_password,
    change_roles,
    create_user,
    disable_user,
    enable_user,
)
from coilwright.accounts.user_entry import ACCOUNTS
from coilwright.accounts.users import Users
from coilwright.accounts.waiting import SignInLimiter, WaitRule

__all__ = [
    "ACCOUNTS",
    "ALL_LINES",
    "MAY",
    "AccessLine",
    "AccessQuery",
    "AccountProblem",
    "Accounts",
    "Act",
    "Changer",
    "NotAllowed",
    "Passwords",
    "Role",
    "Session",
    "SessionCookie",
    "SessionRule",
    "SignInLimiter",
    "SignInMustWait",
    "SignInRefused",
    "SignedIn",
    "User",
    "Users",
    "WaitRule",
    "access_lines",
    "change_password",
    "change_roles",
    "cookie_name",
    "create_user",
    "disable_user",
    "enable_user",
    "ended_cookie",
    "form_token",
    "form_token_fits",
    "hold_open",
    "is_loopback",
    "may",
    "may_listen",
    "note_access",
    "open_accounts",
    "password_problem",
    "require",
    "role_words",
    "session_cookie",
    "sign_in",
    "sign_out",
    "sign_out_everywhere",
    "signed_in",
]
