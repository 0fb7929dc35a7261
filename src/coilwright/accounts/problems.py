"""What keeps somebody out, or a change of the users from being made.

InputError
├── AccountProblem    a name, a password or a change cannot be used: the field and the mend
├── NotAllowed        no role of this user may do it
├── SignInRefused     the name and the password do not belong together; never says which
└── SignInMustWait    too many attempts: how long to wait
"""

import math

from coilwright.accounts.role import Act
from coilwright.errors import InputError, Problem


class AccountProblem(InputError):
    """A change of the users that cannot be made; nothing was changed."""

    def __init__(self, field: str, found: str, mend: str) -> None:
        self.problem = Problem(field=field, found=found, mend=mend)
        super().__init__(field, found, mend)

    def __str__(self) -> str:
        return f"{self.problem}. Nothing was changed."


class NotAllowed(InputError):
    """No role of this user may do it."""

    def __init__(self, act: Act) -> None:
        self.act = act
        super().__init__(act)

    def __str__(self) -> str:
        return f"This user may not {self.act.value}; ask an administrator for a role that may."


class SignInRefused(InputError):
    """One sentence for every cause, so that nobody learns which names there are."""

    def __str__(self) -> str:
        return "The name and the password do not belong together, or this user may not sign in."


class SignInMustWait(InputError):
    """Too many attempts with this name or from this address, whether or not the name is known."""

    def __init__(self, wait_s: float) -> None:
        self.wait_s = wait_s
        super().__init__(wait_s)

    def __str__(self) -> str:
        return f"Too many attempts to sign in; try again in {math.ceil(self.wait_s)} s."
