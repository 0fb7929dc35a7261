"""The best rescue kit of a shelf: numbers first, words for the one that is shown.

A shelf may hold thousands of sizes, too many to try every snare with every tube, sheath and wire.
What is widest, shortest or narrowest tells the best grade that there is; then the first kit of
that grade is looked for, in the order in which the devices would be taken.
"""

import math
from collections.abc import Iterator, Sequence

from coilwright.kit import Catheter, Sheath, Snare, Wire
from coilwright.kit.lengths import measure_exchange
from coilwright.kit.widths import measure_through
from coilwright.planning.pull_rescue_grades import (
    BEST,
    CANNOT_BE_TOLD,
    FAILS,
    PASSES,
    Front,
    Grade,
    Tube,
    grade_of,
    grade_through,
    kit_grade,
)
from coilwright.planning.pull_rescue_parts import (
    NOT_ASKED,
    Found,
    Part,
    capture_part,
    exchange_part,
    through_part,
)
from coilwright.planning.pull_tray import Tray
from coilwright.planning.pull_way import WayIn
from coilwright.protocol import Protocol

NO_SHEATH: Sequence[Sheath | None] = (None,)


class RescueSearch:
    """Snares, tubes, sheaths and wires of the shelf, one of each size, in the order of taking."""

    def __init__(self, way: WayIn, tray: Tray, protocol: Protocol) -> None:
        self._way, self._protocol = way, protocol
        self._snares = tray.one_per_size(tray.kit.snares)
        if not self._snares:
            return
        self._exchange = _Exchange(tray.one_per_size(tray.kit.wires), way, protocol)
        self._sheaths = _sheaths(way, tray)
        self._extremes = _extremes(self._sheaths, self._exchange) or NO_SHEATH
        self._catheters: list[Tube] = [*tray.one_per_size(tray.kit.catheters)]
        if way.catheter is not None and tray.holds(way.catheter.id):
            self._catheters.insert(0, way.catheter)
        micros, sheaths = tray.kit.microcatheters, tray.kit.sheaths
        others: tuple[list[Tube], ...] = (
            [*tray.one_per_size(micros)],
            [*tray.one_per_size(sheaths)],
        )
        self._tubes = [*self._catheters, *others[0], *others[1]]
        self._others = [Front(tubes, self._snares[0]) for tubes in others]
        self._in_sheath: dict[str, dict[int, Front]] = {}

    def best(self) -> Found | None:
        """The first kit of the best grade; null where the shelf has no snare."""
        best: tuple[Grade, Snare] | None = None
        for snare in self._snares:
            if best is not None and best[0] == BEST:
                break
            if best is not None and self._bound(snare) >= best[0]:
                continue
            grade = self._grade(snare)
            if best is None or grade < best[0]:
                best = grade, snare
        return None if best is None else self._first_of(best[1], best[0])

    def _bound(self, snare: Snare) -> Grade:
        """No kit around this snare is better than this, whatever it runs through."""
        return min(kit_grade(snare, PASSES, *taken) for taken in self._captures(snare, None))

    def _grade(self, snare: Snare) -> Grade:
        """The best grade of all kits around this snare."""
        other = min(front.grade(snare, self._protocol) for front in self._others)
        grades = [kit_grade(snare, other, *taken) for taken in self._captures(snare, None)]
        best = min(grades) if other < FAILS else None
        if best != BEST:
            with_catheter = min(self._with_catheter(snare), default=None)
            best = min((g for g in (best, with_catheter) if g is not None), default=None)
        # Nothing takes the snare: then each part is judged by itself.
        return min(grades) if best is None else best

    def _with_catheter(self, snare: Snare) -> Iterator[Grade]:
        for sheath, (capture, wire) in zip(
            self._extremes, self._captures(snare, None), strict=True
        ):
            for in_sheath, front in self._catheters_in(sheath).items():
                through = front.grade(snare, self._protocol)
                if through < FAILS:
                    both = max(capture, in_sheath) if _judged(snare, sheath) else capture
                    yield kit_grade(snare, through, both, wire)

    def _catheters_in(self, sheath: Sheath | None) -> dict[int, Front]:
        """The catheters by how sure each goes through this sheath itself."""
        key = "" if sheath is None else sheath.id
        if key not in self._in_sheath:
            groups: dict[int, list[Tube]] = {}
            for tube in self._catheters:
                groups.setdefault(self._tube_in(tube, sheath), []).append(tube)
            self._in_sheath[key] = {g: Front(t, self._snares[0]) for g, t in groups.items()}
        return self._in_sheath[key]

    def _tube_in(self, tube: Tube | None, sheath: Sheath | None) -> int:
        """A catheter has to come out through the sheath with the snare; other tubes do not."""
        if sheath is None or not isinstance(tube, Catheter):
            return PASSES
        return grade_of(measure_through(tube, sheath, self._protocol))

    def _captures(self, snare: Snare, tube: Tube | None) -> list[tuple[int, int]]:
        """The grades of sheath and wire, for each sheath that need be tried."""
        return [
            (self._capture(snare, sheath, tube), self._exchange.grade(sheath))
            for sheath in self._extremes
        ]

    def _capture(self, snare: Snare, sheath: Sheath | None, tube: Tube | None) -> int:
        if sheath is None:
            return FAILS
        if not _judged(snare, sheath):
            return CANNOT_BE_TOLD
        snare_in = grade_of(measure_through(snare, sheath, self._protocol))
        return max(snare_in, self._tube_in(tube, sheath))

    def _first_of(self, snare: Snare, grade: Grade) -> Found:
        """The first tube, and with it the first sheath, that make a kit of this grade."""
        for through, tube in self._throughs(snare):
            captures = self._captures(snare, tube)
            if all(kit_grade(snare, through, *taken) != grade for taken in captures):
                continue
            for sheath in self._sheaths or NO_SHEATH:
                capture, wire = self._capture(snare, sheath, tube), self._exchange.grade(sheath)
                if kit_grade(snare, through, capture, wire) == grade:
                    return self._found(snare, tube, sheath)
        raise AssertionError("the grade was found among these very kits")

    def _throughs(self, snare: Snare) -> Iterator[tuple[int, Tube | None]]:
        """What takes the snare, with its grade, the catheter in place first."""
        # Of those that take the snare, only the outer size matters further: one of each is tried.
        tried: set[tuple[object, ...]] = set()
        for tube in self._tubes:
            grade = grade_through(snare, tube, self._protocol)
            key = grade, type(tube), tube.outer_fr
            if grade < FAILS and key not in tried:
                tried.add(key)
                yield grade, tube
        if not tried:
            yield FAILS, None

    def _found(self, snare: Snare, tube: Tube | None, sheath: Sheath | None) -> Found:
        through = through_part(snare, tube, self._protocol)
        capture = capture_part(snare, sheath, through, self._protocol)
        asked = sheath is not None and capture.device is not None
        wire = self._exchange.part(sheath) if sheath is not None and asked else NOT_ASKED
        return Found(snare, through, capture, wire)


class _Exchange:
    """The wires over which the sheath in place can be changed for another."""

    def __init__(self, wires: list[Wire], way: WayIn, protocol: Protocol) -> None:
        self._way, self._protocol = way, protocol
        self._known: dict[str, int] = {}
        grades = [(self._with_catheter(wire), wire) for wire in wires]
        self._wires = [(grade, wire) for grade, wire in grades if grade < FAILS]
        # What takes a wire takes every narrower one.
        narrowest: dict[tuple[int, bool], tuple[int, Wire]] = {}
        for grade, wire in sorted(self._wires, key=lambda graded: graded[1].wire_inch or 0.0):
            narrowest.setdefault((grade, wire.wire_inch is None), (grade, wire))
        self._narrowest = list(narrowest.values())

    def grade(self, sheath: Sheath | None) -> int:
        """The best grade of an exchange for this sheath; none is asked for where it stays."""
        if sheath is None or self._stays(sheath):
            return PASSES
        if sheath.id not in self._known:
            over = (self._over(graded, sheath) for graded in self._narrowest)
            self._known[sheath.id] = min(over, default=FAILS)
        return self._known[sheath.id]

    def part(self, sheath: Sheath) -> Part:
        """The first wire of that grade, with its pairs."""
        if self._stays(sheath):
            return NOT_ASKED
        best = self.grade(sheath)
        over = (wire for grade, wire in self._wires if self._over((grade, wire), sheath) == best)
        wire = None if best == FAILS else next(over)
        return exchange_part(sheath, wire, self._way, self._protocol)

    def _stays(self, sheath: Sheath) -> bool:
        return self._way.sheath is None or sheath.id == self._way.sheath.id

    def _with_catheter(self, wire: Wire) -> int:
        catheter = self._way.catheter
        if catheter is None:
            return PASSES
        return grade_of(
            measure_through(wire, catheter, self._protocol),
            measure_exchange(wire, catheter, self._protocol),
        )

    def _over(self, graded: tuple[int, Wire], sheath: Sheath) -> int:
        grade, wire = graded
        return max(grade, grade_of(measure_through(wire, sheath, self._protocol)))


def _judged(snare: Snare, sheath: Sheath | None) -> bool:
    """Whether the label says which sheath takes the catch out, and there is one to compare."""
    return sheath is not None and snare.needs_sheath_fr is not None


def _extremes(sheaths: list[Sheath], exchange: _Exchange) -> Sequence[Sheath | None]:
    """Of each grade of exchange the widest sheath and one without a label; and the narrowest.

    The wider sheath takes whatever the narrower does. The narrowest shows whether any fails,
    which asks for no wire.
    """
    kept: dict[tuple[int, bool], Sheath] = {}
    for sheath in sorted(sheaths, key=lambda s: -(s.accepts_fr or 0.0)):
        kept.setdefault((exchange.grade(sheath), sheath.accepts_fr is None), sheath)
    labelled = [sheath for sheath in sheaths if sheath.accepts_fr is not None]
    narrowest = min(labelled, key=lambda s: s.accepts_fr or 0.0, default=None)
    more = [] if narrowest is None else [narrowest]
    return list(dict.fromkeys([*kept.values(), *more]))


def _sheaths(way: WayIn, tray: Tray) -> list[Sheath]:
    """The sheath in place first, then from the smallest: the smaller hole before the larger."""
    widths: dict[tuple[float | None, float | None], Sheath] = {}
    for sheath in tray.one_per_size(tray.kit.sheaths):
        widths.setdefault((sheath.accepts_fr, sheath.accepts_wire_inch), sheath)
    sizes = sorted(widths.values(), key=lambda sheath: sheath.accepts_fr or math.inf)
    if way.sheath is not None and tray.holds(way.sheath.id):
        return [way.sheath, *(sheath for sheath in sizes if sheath.id != way.sheath.id)]
    return sizes
