"""A grade's definition as answers: those it asks for, and those that it cannot go with."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Definition:
    """What one grade means in terms of recorded answers.

    ``asks`` must all be answered so for the grade to be given. ``besides`` is not asked for, but
    another answer contradicts the grade; None there means that no answer makes sense.
    """

    grade: int
    asks: Mapping[str, object]
    besides: Mapping[str, object] = field(default_factory=dict)

    def fits(self, answers: Mapping[str, object]) -> bool:
        """Whether no recorded answer speaks against the grade."""
        rows = {**self.asks, **self.besides}
        return all(answers[name] in (None, answer) for name, answer in rows.items())

    def met(self, answers: Mapping[str, object]) -> bool:
        """Whether the grade follows: nothing speaks against it and all it asks is answered."""
        return self.fits(answers) and all(answers[name] is not None for name in self.asks)


def unasked_of(definitions: Iterable[Definition], answers: Mapping[str, object]) -> tuple[str, ...]:
    """The answers that are not recorded and that any of the definitions asks for, in their order.

    Examples
    --------
    >>> one = Definition(grade=1, asks={"visible": True})
    >>> unasked_of([one], {"palpable": None, "visible": None})
    ('visible',)
    """
    asked = {name for definition in definitions for name in definition.asks}
    return tuple(name for name, answer in answers.items() if answer is None and name in asked)
