"""What brings a catheter or microcatheter to the vein: needle, access wire, sheath and lead."""

import math
from typing import NamedTuple

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.first_best import Merit, Row, Tally, less, merit_of, negative, tally_of
from coilwright.kit.kit import Kit
from coilwright.kit.label_values import bore_of, length_of, width_of
from coilwright.kit.lengths import needed_past_hub_mm
from coilwright.protocol import Protocol


class Entry(NamedTuple):
    """Needle and access wire, null where the kit lacks one of them."""

    needle: Needle
    wire: Wire


class Access(NamedTuple):
    """What is chosen for one catheter."""

    entry: Entry | None
    sheath: Sheath | None
    lead: Wire | None
    tally: Tally


class Entries:
    """The best needle and access wire for each sheath, the first of equals.

    A wider needle takes what a narrower one does, and a narrower wire passes what a wider one
    does: the widest needle and the narrowest wire, and those whose label is silent, tell what the
    best comes to.
    """

    def __init__(self, kit: Kit) -> None:
        self._kit = kit
        pair = bool(kit.needles and kit.wires)
        any_wire, any_needle = (kit.wires[0], kit.needles[0]) if pair else (None, None)
        self._bores = [bore_of(n, any_wire).mm for n in kit.needles] if any_wire else []
        self._widths = [width_of(w, any_needle).mm for w in kit.wires] if any_needle else []
        self._wide = [*_most(self._bores), *([None] if None in self._bores else [])]
        narrow = _most([negative(width) for width in self._widths])
        self._narrow = [*map(negative, narrow), *([None] if None in self._widths else [])]
        self._known: dict[tuple[bool, float | None], tuple[Merit, Entry | None, Tally]] = {}

    def best(self, sheath: Sheath | None) -> tuple[Merit, Entry | None, Tally]:
        """For this sheath, or without one."""
        bore_mm = None
        if sheath is not None and self._kit.wires:
            bore_mm = bore_of(sheath, self._kit.wires[0]).mm
        key = sheath is not None, bore_mm
        if key not in self._known:
            self._known[key] = self._best(*key)
        return self._known[key]

    def _best(self, through: bool, bore_mm: float | None) -> tuple[Merit, Entry | None, Tally]:
        def margins(needle_mm: float | None, wire_mm: float | None) -> list[float | None]:
            in_needle = less(needle_mm, wire_mm)
            return [in_needle, less(bore_mm, wire_mm)] if through else [in_needle]

        if not self._wide or not self._narrow:
            return Merit(1, 0.0), None, Tally(1, math.inf)
        best = min(merit_of(margins(n, w)) for n in self._wide for w in self._narrow)
        n = next(
            i
            for i, needle in enumerate(self._bores)
            if any(merit_of(margins(needle, wire)) == best for wire in self._narrow)
        )
        needle_mm = self._bores[n]
        w = next(
            i for i, wire in enumerate(self._widths) if merit_of(margins(needle_mm, wire)) == best
        )
        entry = Entry(self._kit.needles[n], self._kit.wires[w])
        return best, entry, tally_of(margins(needle_mm, self._widths[w]))


def _most(values: list[float | None]) -> list[float]:
    labelled = [value for value in values if value is not None]
    return [max(labelled)] if labelled else []


class Leading:
    """The widest wire that runs through a lumen and stands out of its hub, else the nearest."""

    def __init__(self, kit: Kit, protocol: Protocol) -> None:
        self._protocol = protocol
        # A wire without a labelled diameter comes last.
        self.wires = sorted(kit.wires, key=lambda wire: -(wire.wire_inch or 0.0))
        self._row = Row(
            [negative(_width_mm(wire)) for wire in self.wires],
            [length_of(wire).mm for wire in self.wires],
        )

    def lead(self, lumen: Catheter | Microcatheter) -> tuple[Wire | None, Tally]:
        """The wire with what its two pairs come to; null where the kit holds no wire."""
        if not self.wires:
            return None, Tally(1, math.inf)
        asked = negative(lumen.bore_mm), needed_past_hub_mm(self.wires[0], lumen, self._protocol)
        place = self._row.first(*asked)
        if place is None:
            raise AssertionError("a row with a wire has a first one")
        return self.wires[place], tally_of(self._row.margins(place, *asked))


def _width_mm(wire: Wire) -> float | None:
    return width_of(wire, wire).mm


class Accesses:
    """The access of every catheter: sheath and entry are chosen together, then the lead.

    A sheath that takes the catheter and no wire is no way in. Smaller sheaths come first.
    """

    def __init__(self, kit: Kit, leading: Leading, protocol: Protocol) -> None:
        self._protocol, self._leading = protocol, leading
        self._entries = Entries(kit)
        self._sheaths = sorted(kit.sheaths, key=lambda sheath: sheath.accepts_fr or math.inf)
        self._row: Row | None = None

    def access(self, catheter: Catheter) -> Access:
        """What this catheter comes by."""
        lead, led = self._leading.lead(catheter)
        if not self._sheaths:
            _, entry, entered = self._entries.best(None)
            return Access(entry, None, lead, entered.with_(Tally(1, math.inf)).with_(led))
        row = self._sheath_row(catheter)
        asked = width_of(catheter, self._sheaths[0]).mm, negative(length_of(catheter).mm)
        place = row.first(*asked)
        if place is None:
            raise AssertionError("a row with a sheath has a first one")
        _, entry, entered = self._entries.best(self._sheaths[place])
        tally = entered.with_(tally_of(row.margins(place, *asked))).with_(led)
        return Access(entry, self._sheaths[place], lead, tally)

    def _sheath_row(self, catheter: Catheter) -> Row:
        """Any catheter: the bore and length that a sheath offers are the same for all of them."""
        if self._row is None:
            self._row = Row(
                [bore_of(sheath, catheter).mm for sheath in self._sheaths],
                [
                    negative(needed_past_hub_mm(catheter, sheath, self._protocol))
                    for sheath in self._sheaths
                ],
                [self._entries.best(sheath)[0] for sheath in self._sheaths],
            )
        return self._row
