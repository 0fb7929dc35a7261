"""Coils and plugs as a lumen meets them: what passes and what pushes, by numbers alone."""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from typing import NamedTuple

from coilwright.kit.access_devices import Catheter, Microcatheter, Wire
from coilwright.kit.coil import Coil, CoilDelivery
from coilwright.kit.first_best import less
from coilwright.kit.label_values import length_of, width_of
from coilwright.kit.pair_fit import SAME_MM
from coilwright.kit.plug import Plug
from coilwright.kit.widths import bore_range_mm
from coilwright.protocol import Protocol

Goods = Coil | Plug


def comes_on_its_own(good: Goods) -> bool:
    """A plug and a detachable coil come on a wire of their own."""
    return isinstance(good, Plug) or good.delivery is CoilDelivery.DETACHABLE


class Wanted(NamedTuple):
    """A coil or plug in numbers: its wind, the bores that it passes, the length of its own pusher.

    ``pushed``: it has to be pushed by a wire of the shelf.
    """

    width_mm: float | None
    low_mm: float | None
    high_mm: float
    length_mm: float | None
    pushed: bool


def wanted_of(good: Goods, protocol: Protocol) -> Wanted:
    """The numbers of this coil or plug."""
    return Wanted(
        width_of(good, good).mm,
        *bore_range_mm(good, protocol),
        length_of(good).mm,
        not comes_on_its_own(good),
    )


class Bore(NamedTuple):
    """A lumen as goods meet it; ``lead_mm`` is the wire that leads it, null where none passes."""

    lumen: Catheter | Microcatheter
    bore_mm: float | None
    needed_mm: float | None
    lead: Wire | None
    lead_mm: float | None
    led_mm: float


def quick_mm(wanted: Wanted, bore: Bore) -> float | None:
    """The least margin of pushing where all of it passes; null where it does not."""
    if not wanted.pushed:
        if wanted.length_mm is None or bore.needed_mm is None:
            return None
        spare_mm = wanted.length_mm - bore.needed_mm
        return None if spare_mm < -SAME_MM else spare_mm
    if bore.lead_mm is None or wanted.width_mm is None or bore.bore_mm is None:
        return None
    # The widest wire that passes the lumen is the last to slip past the coil.
    behind_mm = bore.lead_mm + wanted.width_mm - bore.bore_mm
    return min(bore.led_mm, behind_mm) if behind_mm > SAME_MM else None


def margin_mm(wanted: Wanted, bore_mm: float | None) -> float | None:
    """What ``measure_through`` leaves over."""
    low_mm = less(bore_mm, wanted.low_mm)
    if low_mm is None or bore_mm is None or low_mm < -SAME_MM:
        return low_mm
    over_mm = wanted.high_mm - bore_mm
    return over_mm if over_mm < -SAME_MM else low_mm


def left_mm(wanted: Wanted, bore: Bore) -> float:
    """What a lumen that the coil passes leaves over."""
    return (bore.bore_mm or 0.0) - (wanted.low_mm or 0.0)


class Bores:
    """Lumens in a given order, found by the bores that a coil passes."""

    def __init__(self, bores_mm: Sequence[float | None]) -> None:
        rising = sorted((bore, place) for place, bore in enumerate(bores_mm) if bore is not None)
        self._widths = [bore for bore, _ in rising]
        self._places = [place for _, place in rising]

    def passed_by(self, wanted: Wanted) -> list[int]:
        """The places of the lumens that the coil passes, in their order."""
        low_mm, high_mm = wanted.low_mm, wanted.high_mm
        if low_mm is None:
            return []
        first = self._wide_enough(low_mm)
        last = bisect_left(
            self._widths, True, lo=first, key=lambda bore_mm: high_mm - bore_mm < -SAME_MM
        )
        return sorted(self._places[first:last])

    def nearest(self, wanted: Wanted) -> list[int]:
        """Where the coil passes none: the widest that is too narrow, the narrowest too wide."""
        if wanted.low_mm is None:
            return self._places
        wide = self._wide_enough(wanted.low_mm)
        around = self._widths[max(wide - 1, 0) : wide + 1]
        if not around:
            return []
        first, last = bisect_left(self._widths, around[0]), bisect_right(self._widths, around[-1])
        return self._places[first:last]

    def _wide_enough(self, low_mm: float) -> int:
        return bisect_left(self._widths, True, key=lambda bore_mm: bore_mm - low_mm >= -SAME_MM)
