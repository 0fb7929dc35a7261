"""The widest wire of the shelf that leads a microcatheter."""

from bisect import bisect_left

from coilwright.kit import Microcatheter, Wire
from coilwright.kit.lengths import measure_past_hub
from coilwright.kit.widths import measure_through
from coilwright.protocol import Protocol


class Leads:
    """The wires from the widest; of wires alike in width the first on the shelf comes first.

    A lumen that takes a wire takes every narrower one, and a longer wire reaches wherever a
    shorter one does: so few wires need be tried for each microcatheter.
    """

    def __init__(self, wires: list[Wire], protocol: Protocol) -> None:
        labelled = [wire for wire in wires if wire.wire_inch is not None]
        self._wires = sorted(labelled, key=lambda wire: -(wire.wire_inch or 0.0))
        self._longest = _longest_from(self._wires)
        self._protocol = protocol
        self._known: dict[str, Wire | None] = {}

    def widest(self, micro: Microcatheter) -> Wire | None:
        """The widest wire that passes and stands out of the hub; null where none does."""
        if micro.id not in self._known:
            self._known[micro.id] = self._widest(micro)
        return self._known[micro.id]

    def _widest(self, micro: Microcatheter) -> Wire | None:
        passing = bisect_left(
            self._wires,
            True,
            key=lambda wire: measure_through(wire, micro, self._protocol).passes,
        )
        if passing == len(self._wires) or not self._reaches(self._longest[passing], micro):
            return None
        return next(wire for wire in self._wires[passing:] if self._reaches(wire, micro))

    def _reaches(self, wire: Wire, micro: Microcatheter) -> bool:
        return measure_past_hub(wire, micro, self._protocol).passes


def _longest_from(wires: list[Wire]) -> list[Wire]:
    """For each place in the row, the longest wire from there to the end."""
    longest: list[Wire] = []
    for wire in reversed(wires):
        if longest and (longest[-1].length_cm or 0.0) >= (wire.length_cm or 0.0):
            longest.append(longest[-1])
        else:
            longest.append(wire)
    return longest[::-1]
