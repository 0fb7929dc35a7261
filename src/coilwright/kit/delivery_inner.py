"""The best way for a coil or plug through a microcatheter, by numbers alone."""

import math
from typing import NamedTuple

from coilwright.kit.delivery_bores import Bore, Bores, Goods, Wanted, left_mm, quick_mm
from coilwright.kit.delivery_pusher import Pushers
from coilwright.kit.delivery_ways import Ways
from coilwright.kit.first_best import Tally
from coilwright.kit.pair_fit import SAME_MM

# How many pairs fail, and the least margin with its sign turned: the less the better.
Key = tuple[int, float]


class InnerWay(NamedTuple):
    """Places in the kit of a microcatheter and of the catheter around it."""

    place: int
    guide: int
    bore: Bore


class _Inner(NamedTuple):
    """A microcatheter in the catheter that suits it best, without its coil."""

    best: Key
    place: int
    bore: Bore


class InnerSearch:
    """The microcatheters of one shelf in its catheters."""

    def __init__(self, ways: Ways, pushers: Pushers, access: list[Tally]) -> None:
        """``access`` is what each catheter comes by."""
        self._ways, self._pushers, self._access = ways, pushers, access
        self._micros = ways.sizes.microcatheters
        self._guides = sorted((t.failing, -t.least_mm, i) for i, t in enumerate(access))
        self._inners: list[_Inner] | None = None
        self._bores = Bores(())
        self._firsts: dict[tuple[int, int, float], int] = {}

    def best(self, good: Goods, wanted: Wanted, *, whole: bool) -> InnerWay | None:
        """The best way on which the coil passes; ``whole``: on which every pair does."""
        if self._inners is None:
            self._inners = self._tried(good)
        best: Key = (99, math.inf)
        equal: list[tuple[int, int, _Inner]] = []
        for rank in self._bores.passed_by(wanted):
            inner = self._inners[rank]
            # Those that can only be as good are still tried: of equals the first is taken.
            if best < inner.best or (whole and inner.best[0]):
                break
            part = self._part(wanted, inner.bore, whole=whole, least=best[0] - inner.best[0])
            if part is None:
                continue
            key = inner.best[0] + part[0], max(inner.best[1], -part[1])
            if key < best:
                best, equal = key, []
            if key == best:
                equal.append((inner.place, part[0], inner))
        if not equal:
            return None
        guide, place, inner = min(
            (self._first_guide(place, best[0] - failing, best[1]), place, inner)
            for place, failing, inner in equal
        )
        return InnerWay(place, guide, inner.bore)

    def _part(
        self, wanted: Wanted, bore: Bore, *, whole: bool, least: int
    ) -> tuple[int, float] | None:
        """Failing pairs and least margin of coil and pusher; null where more than ``least`` fail.

        ``whole``: null where any fails.
        """
        failing, pushed_mm = 0, quick_mm(wanted, bore)
        if pushed_mm is None:
            if whole or least < 1:
                return None
            failing, pushed_mm = self._pushers.best(wanted, bore).tally
        return failing, min(left_mm(wanted, bore), pushed_mm)

    def _tried(self, good: Goods) -> list[_Inner]:
        """Every microcatheter that some catheter takes, the best without a coil first."""
        taken = [i for i, m in enumerate(self._micros) if self._ways.takes.first(m) is not None]
        inners = [
            _Inner(self._best_guide(i), i, self._pushers.bore(self._micros[i], good)) for i in taken
        ]
        inners.sort(key=lambda inner: inner[:2])
        self._bores = Bores([inner.bore.bore_mm for inner in inners])
        return inners

    def _best_guide(self, place: int) -> Key:
        """The best that the catheters make of it; ties are broken later."""
        micro, best = self._micros[place], (99, math.inf)
        led = self._ways.lead(micro)[1]
        for failing, most_mm, guide in self._guides:
            if best <= (failing + led.failing, max(most_mm, -led.least_mm)):
                break
            inside = self._ways.takes.tally(guide, micro)
            if inside.failing == 0:
                least_mm = min(-most_mm, led.least_mm, inside.least_mm)
                best = min(best, (failing + led.failing, -least_mm))
        return best

    def _first_guide(self, place: int, failing: int, most_mm: float) -> int:
        """The first catheter around this microcatheter that is as good as that."""
        key = place, failing, most_mm
        if key not in self._firsts:
            micro = self._micros[place]
            asked = failing - self._ways.lead(micro)[1].failing
            self._firsts[key] = next(
                guide
                for guide, access in enumerate(self._access)
                if access.failing == asked
                and -access.least_mm <= most_mm
                and self._ways.takes.holds(guide, micro, max(-most_mm, -SAME_MM))
            )
        return self._firsts[key]
