"""Wires that fare alike in one chain, though each has a size of its own."""

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.coil import Coil
from coilwright.kit.comparison import Trial
from coilwright.kit.device import Device

Question = Callable[[Wire], bool]


class WireClasses:
    """Wires of a shelf by how they compare with every device of a chain.

    Whether a wire passes a lumen or stays behind a coil turns once as wires widen, and whether it
    stands out of a hub turns once as they lengthen: between two such turns all wires fare alike.
    """

    def __init__(self, wires: Iterable[Wire], devices: Sequence[Device], compare: Trial) -> None:
        shelf = list(wires)
        widths = _classes(shelf, lambda w: w.wire_inch, _width_questions(devices, compare))
        lengths = _classes(shelf, lambda w: w.length_cm, _length_questions(devices, compare))
        self._classes = {
            wire.id: (widths[wire.id], lengths[wire.id], wire.front_end, wire.back_end)
            for wire in shelf
        }

    def of(self, wire: Wire) -> tuple[object, ...]:
        """The same for any two wires of which neither does where the other does not."""
        return self._classes[wire.id]


def _width_questions(devices: Sequence[Device], compare: Trial) -> list[Question]:
    """Each is answered no up to some width and yes beyond."""
    lumens = [d for d in devices if isinstance(d, Sheath | Catheter | Microcatheter)]
    outers = [*(d for d in devices if isinstance(d, Needle)), *lumens]
    coils = [d for d in devices if isinstance(d, Coil)]
    others = [d.wire_inch for d in devices if isinstance(d, Wire) and d.wire_inch is not None]

    def too_wide(outer: Device) -> Question:
        return lambda wire: not compare.through(wire, outer).passes

    def behind(coil: Coil, lumen: Sheath | Catheter | Microcatheter) -> Question:
        return lambda wire: compare.behind(wire, coil, lumen).passes

    def at_least(inch: float) -> Question:
        return lambda wire: (wire.wire_inch or 0.0) >= inch

    def above(inch: float) -> Question:
        return lambda wire: (wire.wire_inch or 0.0) > inch

    return [
        *(too_wide(outer) for outer in outers),
        *(behind(coil, lumen) for coil in coils for lumen in lumens),
        # Of two wires that are too wide the chain takes the narrower.
        *(ask(inch) for inch in others for ask in (at_least, above)),
    ]


def _length_questions(devices: Sequence[Device], compare: Trial) -> list[Question]:
    """Each is answered no up to some length and yes beyond."""

    def reaches(outer: Device) -> Question:
        return lambda wire: compare.past_hub(wire, outer).passes

    outers = (d for d in devices if isinstance(d, Needle | Sheath | Catheter | Microcatheter))
    return [reaches(outer) for outer in outers]


def _classes(
    wires: list[Wire], value: Callable[[Wire], float | None], questions: list[Question]
) -> dict[str, int | None]:
    """How many questions' turns each wire lies beyond; null where its label is silent."""
    rising = sorted((w for w in wires if value(w) is not None), key=lambda w: value(w) or 0.0)
    turns = sorted({bisect_left(rising, True, key=question) for question in questions})
    classes: dict[str, int | None] = dict.fromkeys((wire.id for wire in wires), None)
    for place, wire in enumerate(rising):
        classes[wire.id] = bisect_right(turns, place)
    return classes
