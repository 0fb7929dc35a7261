"""One condition of a recommendation, as the case answers it, and how several come together."""

from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.assessment.answers import said


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One condition.

    ``answer`` is None where it cannot be judged; ``missing`` then names what would be needed.
    ``detail`` says what the answer rests on.
    """

    name: str
    answer: bool | None
    detail: str = ""
    missing: tuple[str, ...] = ()

    @property
    def reads(self) -> str:
        """The answer with what it rests on."""
        answer = said(self.answer) if self.answer is not None or self.missing else "not clear"
        return f"{answer} ({self.detail})" if self.detail else answer


def asked(name: str, answer: bool | None, key: str) -> Criterion:
    """A condition that one question of the case file answers by itself."""
    return Criterion(name=name, answer=answer, missing=() if answer is not None else (key,))


def all_hold(answers: Sequence[bool | None]) -> bool | None:
    """True where all are yes, False where any is no, else None.

    Examples
    --------
    >>> all_hold([True, None]), all_hold([None, False])
    (None, False)
    """
    if False in answers:
        return False
    return None if None in answers else True


def any_holds(answers: Sequence[bool | None]) -> bool | None:
    """True where any is yes, False where all are no, else None.

    Examples
    --------
    >>> any_holds([True, None]), any_holds([None, False])
    (True, None)
    """
    if True in answers:
        return True
    return None if None in answers else False
