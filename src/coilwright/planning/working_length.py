"""The working length that a path needs of catheter and microcatheter, and what of the kit has it.

Length alone: whether a device passes the vein's width, or its turns, is not judged here.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from coilwright.kit import Catheter, Kit, Microcatheter, Wire, exchange_over
from coilwright.kit.comparison import Comparison
from coilwright.kit.label_values import MM_PER_CM, length_of
from coilwright.kit.pair_fit import SAME_MM
from coilwright.planning.route import DeviceReach, Reach
from coilwright.planning.route_length import RouteLength
from coilwright.protocol import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class PathToReach:
    """A path with whether every limit behind its length stands."""

    length: RouteLength
    limits_stand: bool


class ReachOfKit:
    """What of one kit reaches how far: pairs of labels are compared once for all paths."""

    def __init__(self, kit: Kit, protocol: Protocol, on: date | None) -> None:
        self._protocol, self._compare = protocol, Comparison(protocol)
        self._catheters = [device for device in kit.catheters if device.usable(on)]
        self._micros = [device for device in kit.microcatheters if device.usable(on)]
        self._wires = [device for device in kit.wires if device.usable(on)]
        tubes: list[Catheter | Microcatheter] = [*self._catheters, *self._micros]
        self._leading = {tube.id: self._leads(tube) for tube in tubes}

    def catheters(self, path: PathToReach) -> tuple[DeviceReach, ...]:
        """Every usable catheter of the kit on this path, as the kit lists them."""
        needed = needed_catheter(path.length, self._protocol)
        return tuple(self._reach(device, needed, path) for device in self._catheters)

    def microcatheters(self, path: PathToReach) -> tuple[DeviceReach, ...]:
        """Every usable microcatheter, with the guide catheters it passes and stands out of."""
        needed = needed_microcatheter(path.length, self._protocol)
        return tuple(
            self._reach(device, needed, path, guides=self._guides(device))
            for device in self._micros
        )

    def _reach(
        self,
        tube: Catheter | Microcatheter,
        needed: RouteLength,
        path: PathToReach,
        guides: tuple[str, ...] | None = None,
    ) -> DeviceReach:
        labelled_mm = length_of(tube).mm
        verdict = reach_verdict(labelled_mm, needed)
        text = _words(tube.name, labelled_mm, needed, verdict)
        if guides == ():
            # Long enough alone is not enough: nothing is known to carry it to the vein.
            verdict = Reach.CANNOT_BE_TOLD if verdict is not Reach.DOES_NOT_REACH else verdict
            text += "; no catheter on the shelf is known to take it and to be short enough for it"
        stands = path.limits_stand and all(
            self._protocol.limit(id).stands for id in _limits_of(tube)
        )
        return DeviceReach(
            device=tube.id,
            name=tube.name,
            length_mm=labelled_mm,
            needed=needed,
            verdict=verdict,
            margin_mm=(_margin(labelled_mm, needed.high_mm), _margin(labelled_mm, needed.low_mm)),
            text=text if stands else f"{text} (by limits from memory, not signed off)",
            limit_stands=stands,
            guided_by=guides or (),
            led_by=tuple(wire.id for wire in self._leading[tube.id]),
            exchanged_over=self._exchanged(tube, path.length),
        )

    def _guides(self, micro: Microcatheter) -> tuple[str, ...]:
        return tuple(guide.id for guide in self._catheters if self._goes_in(micro, guide))

    def _leads(self, tube: Catheter | Microcatheter) -> list[Wire]:
        return [wire for wire in self._wires if self._goes_in(wire, tube)]

    def _goes_in(self, inner: Wire | Microcatheter, outer: Catheter | Microcatheter) -> bool:
        return all(pair.passes for pair in self._compare.inside(inner, outer))

    def _exchanged(self, tube: Catheter | Microcatheter, path: RouteLength) -> tuple[str, ...]:
        """Wires over which it comes off: at the path's longest, else as if in to its hub."""
        labelled_mm = length_of(tube).mm
        in_body_cm = None
        if path.high_mm is not None and labelled_mm is not None:
            in_body_cm = min(path.high_mm, labelled_mm) / MM_PER_CM
        return tuple(
            wire.id
            for wire in self._leading[tube.id]
            if exchange_over(wire, tube, self._protocol, in_body_cm=in_body_cm).passes
        )


def needed_catheter(path: RouteLength, protocol: Protocol) -> RouteLength:
    """The path and what stays outside the skin."""
    return path.plus(protocol.limit("catheter-outside-skin").value * MM_PER_CM)


def needed_microcatheter(path: RouteLength, protocol: Protocol) -> RouteLength:
    """What a catheter needs, and the hub of the guide that it runs through.

    Its guide is then in as far as it goes. A guide that is longer than the path needs more of it:
    that is the comparison of the two labels (``stand_out``), which its guides have passed.
    """
    past_hub_mm = protocol.limit("microcatheter-past-hub").value * MM_PER_CM
    return needed_catheter(path, protocol).plus(past_hub_mm)


def reach_verdict(labelled_mm: float | None, needed: RouteLength) -> Reach:
    """What a labelled length says: against the shortest and the longest that may be needed."""
    if labelled_mm is None:
        return Reach.CANNOT_BE_TOLD
    if labelled_mm < needed.low_mm - SAME_MM:
        return Reach.DOES_NOT_REACH
    if needed.high_mm is None:
        return Reach.CANNOT_BE_TOLD
    return Reach.REACHES if labelled_mm >= needed.high_mm - SAME_MM else Reach.MAY_NOT_REACH


def _words(name: str, labelled_mm: float | None, needed: RouteLength, verdict: Reach) -> str:
    if labelled_mm is None:
        return f"{name}: cannot be told; read the length (cm) off its label"
    named = f"{name} ({labelled_mm / MM_PER_CM:g} cm)"
    match verdict:
        case Reach.DOES_NOT_REACH:
            short_cm = (needed.low_mm - labelled_mm) / MM_PER_CM
            return f"{named} does not reach: at least {short_cm:.1f} cm too short"
        case Reach.CANNOT_BE_TOLD:
            return f"{named}: cannot be told; {needed.words_cm()} needed, a length is missing"
        case Reach.MAY_NOT_REACH:
            return f"{named} may not reach: {needed.words_cm()} needed"
    return f"{named} reaches by its length: {needed.words_cm()} needed"


def _limits_of(tube: Catheter | Microcatheter) -> Iterable[str]:
    if isinstance(tube, Microcatheter):
        return ("catheter-outside-skin", "microcatheter-past-hub")
    return ("catheter-outside-skin",)


def _margin(labelled_mm: float | None, needed_mm: float | None) -> float | None:
    if labelled_mm is None or needed_mm is None:
        return None
    return labelled_mm - needed_mm
