"""The best way for a coil or plug, by numbers alone.

What a way comes to without the coil is the most that it can come to with it: ways are tried in
that order, and no further once none that is left can be better.
"""

import math
from typing import NamedTuple

from coilwright.kit.access_devices import Catheter, Microcatheter, Wire
from coilwright.kit.delivery_bores import (
    Bore,
    Bores,
    Goods,
    Wanted,
    left_mm,
    margin_mm,
    quick_mm,
)
from coilwright.kit.delivery_inner import InnerSearch
from coilwright.kit.delivery_pusher import Pushers
from coilwright.kit.delivery_ways import Ways
from coilwright.protocol import Protocol


class Found(NamedTuple):
    """A way, and the wire that pushes there."""

    catheter: Catheter
    microcatheter: Microcatheter | None
    pusher: Wire | None


class _Plain(NamedTuple):
    """A catheter alone without its coil; the tuple's order is that of trying."""

    failing: int
    most_mm: float
    place: int


class WaySearch:
    """The ways of one shelf, in numbers."""

    def __init__(self, ways: Ways, protocol: Protocol) -> None:
        self._ways = ways
        self._pushers = Pushers(ways, protocol)
        access = [ways.access(catheter).tally for catheter in ways.sizes.catheters]
        self._plain = sorted(_Plain(t.failing, -t.least_mm, i) for i, t in enumerate(access))
        self._inner = InnerSearch(ways, self._pushers, access)
        self._lumens: list[Bore] = []
        bores_mm = [ways.sizes.catheters[plain.place].bore_mm for plain in self._plain]
        self._bores = Bores(bores_mm)
        fewest = [plain for plain in self._plain if plain.failing == self._plain[0].failing]
        # What is left over in such a lumen is less than on its way: there the lumen alone decides.
        pairs = list(zip(fewest, bores_mm, strict=False))
        roomy = [plain.most_mm <= 0 and bore_mm is not None for plain, bore_mm in pairs]
        self._roomy = Bores([b if r else None for b, r in zip(bores_mm, roomy, strict=False)])
        self._others = [rank for rank, room in enumerate(roomy) if not room]

    def best(self, good: Goods) -> Found:
        """The best way for this coil or plug; there must be a catheter.

        All pairs passing comes first, then the coil passing, then no microcatheter, then the
        fewest that fail, then the roomiest, then the first in the kit.
        """
        if not self._lumens:
            catheters = self._ways.sizes.catheters
            self._lumens = [self._pushers.bore(catheters[p.place], good) for p in self._plain]
        wanted = self._pushers.wanted(good)
        ranks = self._bores.passed_by(wanted)
        found = self._alone(wanted, ranks, whole=True)
        found = found or self._through_micro(good, wanted, whole=True)
        found = found or self._alone(wanted, ranks, whole=False)
        found = found or self._through_micro(good, wanted, whole=False)
        return found or Found(self._ways.sizes.catheters[self._least_bad(wanted)], None, None)

    def _alone(self, wanted: Wanted, ranks: list[int], *, whole: bool) -> Found | None:
        """The best catheter alone that the coil passes; ``whole``: on which every pair passes."""
        best: tuple[_Plain, Bore] | None = None
        for rank in ranks:
            bound, lumen = self._plain[rank], self._lumens[rank]
            if (best is not None and best[0] <= bound) or (whole and bound.failing):
                break
            failing, pushed_mm = bound.failing, quick_mm(wanted, lumen)
            if pushed_mm is None:
                # One pair more fails: the wires are not tried where that is too many already.
                if whole or (best is not None and best[0].failing <= failing):
                    continue
                more, pushed_mm = self._pushers.best(wanted, lumen).tally
                failing += more
            least_mm = min(-bound.most_mm, left_mm(wanted, lumen), pushed_mm)
            tried = _Plain(failing, -least_mm, bound.place)
            if best is None or tried < best[0]:
                best = tried, lumen
        if best is None:
            return None
        wire = self._pushers.best(wanted, best[1]).wire
        return Found(self._ways.sizes.catheters[best[0].place], None, wire)

    def _through_micro(self, good: Goods, wanted: Wanted, *, whole: bool) -> Found | None:
        found = self._inner.best(good, wanted, whole=whole)
        if found is None:
            return None
        sizes, wire = self._ways.sizes, self._pushers.best(wanted, found.bore).wire
        return Found(sizes.catheters[found.guide], sizes.microcatheters[found.place], wire)

    def _least_bad(self, wanted: Wanted) -> int:
        """The place of the catheter alone where the coil passes none: it fails by least."""
        best = (math.inf, -1)
        for rank in (*self._roomy.nearest(wanted), *self._others):
            _, most_mm, place = self._plain[rank]
            over_mm = margin_mm(wanted, self._lumens[rank].bore_mm)
            least_mm = -most_mm if over_mm is None else min(-most_mm, over_mm)
            best = min(best, (0.0 if least_mm == math.inf else -least_mm, place))
        return best[1]
