"""The first device of a row that fits best, by its width and its length in numbers alone."""

import math
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from itertools import accumulate
from typing import NamedTuple

from coilwright.kit.pair_fit import SAME_MM


class Merit(NamedTuple):
    """How many pairs fail or cannot be told, and by how many millimetres the worst falls short."""

    failing: int
    short_mm: float


class Tally(NamedTuple):
    """How many pairs fail or cannot be told, and the least margin (infinite: none is labelled)."""

    failing: int
    least_mm: float

    def with_(self, other: "Tally") -> "Tally":
        """Both together."""
        return Tally(self.failing + other.failing, min(self.least_mm, other.least_mm))


ALL_PASS = Merit(0, 0.0)


def merit_of(margins_mm: Iterable[float | None]) -> Merit:
    """What margins of width and length come to; null is a silent label."""
    failing, short_mm = 0, 0.0
    for margin_mm in margins_mm:
        if margin_mm is None:
            failing += 1
        elif margin_mm < -SAME_MM:
            failing, short_mm = failing + 1, max(short_mm, -margin_mm)
    return Merit(failing, short_mm)


def tally_of(margins_mm: Iterable[float | None]) -> Tally:
    """What margins of width and length come to; null is a silent label."""
    found = list(margins_mm)
    return Tally(
        sum(margin_mm is None or margin_mm < -SAME_MM for margin_mm in found),
        min((margin_mm for margin_mm in found if margin_mm is not None), default=math.inf),
    )


class Row:
    """Widths and lengths in the order of taking: rising widths, silent ones last.

    A device fits a query where its width and its length are each at least what is asked; where
    less is better, both sides are handed in negative. ``base`` is what each device brings along.
    """

    def __init__(
        self,
        widths_mm: Sequence[float | None],
        lengths_mm: Sequence[float | None],
        base: Sequence[Merit] | None = None,
    ) -> None:
        merits = [ALL_PASS] * len(widths_mm) if base is None else base
        self._rows = list(zip(widths_mm, lengths_mm, merits, strict=True))
        self._widths = [width for width in widths_mm if width is not None]
        self._least_base = min(merits, default=ALL_PASS)
        # Nothing but a device of the least base is as good as the least base.
        self._step = int(self._least_base.failing == 0 or max(merits) == self._least_base)
        self._reach = [
            -math.inf if length is None or merit > self._least_base else length
            for _, length, merit in self._rows[: len(self._widths)]
        ]
        self._farthest = list(accumulate(reversed(self._reach), max))[::-1]
        self._known: dict[tuple[float | None, float | None], int | None] = {}

    def first(self, width_mm: float | None, length_mm: float | None) -> int | None:
        """The place of the first of those that fit best; null in an empty row."""
        key = width_mm, length_mm
        if key not in self._known:
            passing = self._passing(width_mm, length_mm)
            self._known[key] = self._least(*key) if passing is None else passing
        return self._known[key]

    def margins(
        self, place: int, width_mm: float | None, length_mm: float | None
    ) -> tuple[float | None, float | None]:
        """What is left over of width and length at this place."""
        width, length, _ = self._rows[place]
        return less(width, width_mm), less(length, length_mm)

    def _passing(self, width_mm: float | None, length_mm: float | None) -> int | None:
        if width_mm is None or length_mm is None:
            return None
        wide = bisect_left(self._widths, True, key=lambda width: width - width_mm >= -SAME_MM)
        if wide == len(self._widths) or self._farthest[wide] - length_mm < -SAME_MM:
            return None
        reach = self._reach
        return next(i for i in range(wide, len(reach)) if reach[i] - length_mm >= -SAME_MM)

    def _least(self, width_mm: float | None, length_mm: float | None) -> int | None:
        """Tried one by one where nothing passes all that is asked; no further than need be."""
        silent = (width_mm is None) + (length_mm is None)
        floor = self._least_base.failing + max(self._step, silent), 0.0
        best: tuple[int, float] = (99, math.inf)
        place = None
        for i, (width, length, (failing, short_mm)) in enumerate(self._rows):
            if failing + silent > best[0]:
                continue
            wide_mm = -math.inf if width is None or width_mm is None else width_mm - width
            long_mm = -math.inf if length is None or length_mm is None else length_mm - length
            # The negative of an infinite shortage stands for a label that is silent.
            fails = (wide_mm > SAME_MM or wide_mm == -math.inf) + (
                long_mm > SAME_MM or long_mm == -math.inf
            )
            merit = failing + fails, _worst(short_mm, wide_mm, long_mm)
            if merit < best:
                best, place = merit, i
                if best == floor:
                    break
        return place


def _worst(short_mm: float, wide_mm: float, long_mm: float) -> float:
    """The most by which one falls short; what is within the last bit falls short of nothing."""
    if wide_mm > SAME_MM and wide_mm > short_mm:
        short_mm = wide_mm
    return long_mm if long_mm > SAME_MM and long_mm > short_mm else short_mm


def less(have_mm: float | None, need_mm: float | None) -> float | None:
    """What is left over; null where either label is silent."""
    return None if have_mm is None or need_mm is None else have_mm - need_mm


def negative(value_mm: float | None) -> float | None:
    """The value where less is better."""
    return None if value_mm is None else -value_mm
