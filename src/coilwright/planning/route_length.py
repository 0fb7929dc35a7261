"""A length of the route with the range that it is thought to lie in."""

import math
from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteLength:
    """A length: at least ``low_mm``, at most ``high_mm``.

    ``value_mm`` is null where no figure is known, ``high_mm`` where nothing bounds it from above:
    then the length is "at least" ``low_mm``, which is 0 where nothing at all is known.
    """

    value_mm: float | None = None
    low_mm: float = 0.0
    high_mm: float | None = None

    def __post_init__(self) -> None:
        known = [x for x in (self.low_mm, self.value_mm, self.high_mm) if x is not None]
        if not all(map(math.isfinite, known)) or known != sorted(known) or self.low_mm < 0:
            raise ValueError(f"a length must lie in its own range, got {self}")

    @property
    def known(self) -> bool:
        """Whether there is a figure, not only a lower bound."""
        return self.value_mm is not None

    def plus(self, more_mm: float) -> "RouteLength":
        """The same length with something of exact length behind it."""
        return total([self, exactly(more_mm)])

    def words_cm(self) -> str:
        """How it reads in centimetres, the doubt included."""
        low = f"{self.low_mm / 10:.1f}"
        if self.value_mm is None or self.high_mm is None:
            return f"at least {low} cm" if self.low_mm > 0 else "not known"
        return f"{self.value_mm / 10:.1f} cm ({low} to {self.high_mm / 10:.1f} cm)"


def exactly(length_mm: float) -> RouteLength:
    """A length without doubt, such as an allowance."""
    return RouteLength(value_mm=length_mm, low_mm=length_mm, high_mm=length_mm)


def total(lengths: Iterable[RouteLength]) -> RouteLength:
    """All of them together; null where one is, and the ends of the ranges added.

    Ends are added, not combined as independent: scale and hand err the same way all along.

    Examples
    --------
    >>> total([exactly(100.0), RouteLength(low_mm=50.0)])
    RouteLength(value_mm=None, low_mm=150.0, high_mm=None)
    """
    lengths = list(lengths)
    values = [one.value_mm for one in lengths if one.value_mm is not None]
    highs = [one.high_mm for one in lengths if one.high_mm is not None]
    # fsum rounds once, so the three sums keep their order to the last bit.
    return RouteLength(
        value_mm=math.fsum(values) if len(values) == len(lengths) else None,
        low_mm=math.fsum(one.low_mm for one in lengths),
        high_mm=math.fsum(highs) if len(highs) == len(lengths) else None,
    )
