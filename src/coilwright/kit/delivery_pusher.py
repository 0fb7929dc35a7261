"""What pushes a coil through a lumen: the widest wire that stays behind it, by numbers."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from coilwright.kit.access_devices import Catheter, Microcatheter, Wire
from coilwright.kit.delivery_bores import Bore, Goods, Wanted, quick_mm, wanted_of
from coilwright.kit.delivery_ways import Ways
from coilwright.kit.first_best import Tally, less, tally_of
from coilwright.kit.label_values import length_of, width_of
from coilwright.kit.lengths import needed_past_hub_mm
from coilwright.kit.pair_fit import SAME_MM
from coilwright.protocol import Protocol


class Pushed(NamedTuple):
    """The wire, null for goods on a wire of their own or without one; and what it comes to."""

    wire: Wire | None
    tally: Tally


NO_WIRE = Pushed(None, Tally(1, math.inf))


class Pushers:
    """The wires of a shelf, tried behind coils."""

    def __init__(self, ways: Ways, protocol: Protocol) -> None:
        self._ways, self._protocol = ways, protocol
        self._wires = [(width_of(w, w).mm, length_of(w).mm, w) for w in ways.wires]

    def bore(self, lumen: Catheter | Microcatheter, like: Goods | Wire) -> Bore:
        """The numbers of a lumen; wires, coils and plugs ask for the same length past the hub."""
        lead, led = self._ways.lead(lumen)
        passes = lead is not None and led.failing == 0
        return Bore(
            lumen,
            lumen.bore_mm,
            needed_past_hub_mm(like, lumen, self._protocol),
            lead,
            width_of(lead, lumen).mm if passes and lead is not None else None,
            led.least_mm,
        )

    def wanted(self, good: Goods) -> Wanted:
        """The numbers of this coil or plug."""
        return wanted_of(good, self._protocol)

    def best(self, wanted: Wanted, bore: Bore) -> Pushed:
        """The first wire of which most pairs pass, else of which the worst fails by least."""
        if not wanted.pushed:
            return Pushed(None, tally_of((less(wanted.length_mm, bore.needed_mm),)))
        least_mm = quick_mm(wanted, bore)
        if least_mm is not None:
            return Pushed(bore.lead, Tally(0, least_mm))
        if not self._wires:
            return NO_WIRE
        return _tried(self._wires, wanted.width_mm, bore)


def _tried(
    wires: Sequence[tuple[float | None, float | None, Wire]], wind_mm: float | None, bore: Bore
) -> Pushed:
    best: tuple[int, float] | None = None
    found = NO_WIRE
    for width_mm, length_mm, wire in wires:
        through, past_hub = less(bore.bore_mm, width_mm), less(length_mm, bore.needed_mm)
        behind = None
        if through is not None and wind_mm is not None:
            behind = (width_mm or 0.0) + wind_mm - (bore.bore_mm or 0.0)
        failing = [m or 0.0 for m in (through, past_hub) if m is None or m < -SAME_MM]
        if behind is None or behind <= SAME_MM:
            failing.append(behind or 0.0)
        key = len(failing), -min(failing, default=0.0)
        if best is None or key < best:
            margins = [m for m in (through, past_hub, behind) if m is not None]
            best = key
            found = Pushed(wire, Tally(len(failing), min(margins, default=math.inf)))
    return found
