"""How sure the parts of a rescue kit are, by numbers alone, and the tubes that need be tried."""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass

from coilwright.kit import Catheter, Microcatheter, Sheath, Snare
from coilwright.kit.label_values import bore_of, length_of
from coilwright.kit.lengths import measure_past_hub
from coilwright.kit.pair_fit import Measured
from coilwright.kit.widths import measure_through
from coilwright.protocol import Protocol

# How sure a part of the rescue kit is, best first.
PASSES, CANNOT_BE_TOLD, FAILS = 0, 1, 2
Tube = Catheter | Microcatheter | Sheath


@dataclass(frozen=True, slots=True, order=True)
class Grade:
    """How sure a rescue kit is; the least is the best.

    The worst part, then the sum, then the sheath: with that, a wire is the lesser lack.
    """

    worst: int
    total: int
    sheath: int


BEST = Grade(PASSES, PASSES, PASSES)


def grade_of(*pairs: Measured) -> int:
    """The grade of a part with these pairs."""
    if any(pair.fails for pair in pairs):
        return FAILS
    return PASSES if all(pair.passes for pair in pairs) else CANNOT_BE_TOLD


def grade_through(snare: Snare, tube: Tube, protocol: Protocol) -> int:
    """How sure the snare runs through the tube and stands out of it."""
    return grade_of(measure_through(snare, tube, protocol), measure_past_hub(snare, tube, protocol))


def kit_grade(snare: Snare, through: int, capture: int, wire: int) -> Grade:
    """The grade of the three parts; a wire is only asked for where a sheath is named to go in."""
    asked = snare.needs_sheath_fr is not None and capture < FAILS
    exchange = wire if asked else PASSES
    return Grade(max(through, capture, exchange), through + capture + exchange, capture)


class Front:
    """Those tubes of one kind of which no other is both as wide and as short.

    A wider bore takes whatever a narrower one does, and what stands out of a longer tube stands
    out of a shorter one: so no other tube of the kind has a better grade for any snare. Tubes
    whose label is silent stand in rows of their own.
    """

    def __init__(self, tubes: Iterable[Tube], snare: Snare) -> None:
        """Any snare: the bore that a tube offers is the same for all of them."""
        rows: dict[tuple[bool, bool], list[tuple[float, float, int, Tube]]] = {}
        for place, tube in enumerate(tubes):
            bore_mm, length_mm = bore_of(tube, snare).mm, length_of(tube).mm
            row = rows.setdefault((bore_mm is None, length_mm is None), [])
            row.append((-(bore_mm or 0.0), length_mm or 0.0, place, tube))
        self._rows = [_shorter_and_shorter(sorted(row)) for row in rows.values()]

    def grade(self, snare: Snare, protocol: Protocol) -> int:
        """The best grade with which one of the tubes takes the snare."""
        best = FAILS
        for row in self._rows:
            # The row narrows and shortens: the last that is wide enough is the shortest of those.
            too_narrow = bisect_left(
                row, True, key=lambda tube: measure_through(snare, tube, protocol).fails
            )
            if too_narrow > 0:
                best = min(best, grade_through(snare, row[too_narrow - 1], protocol))
        return best


def _shorter_and_shorter(row: list[tuple[float, float, int, Tube]]) -> list[Tube]:
    kept: list[Tube] = []
    shortest_mm = float("inf")
    for _, length_mm, _, tube in row:
        if length_mm < shortest_mm:
            kept.append(tube)
            shortest_mm = length_mm
    return kept
