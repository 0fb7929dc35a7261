"""Every pair compared once: a chain tried with thousands of other devices repeats most pairs."""

from abc import ABC, abstractmethod
from collections.abc import Callable
from typing import Generic, NamedTuple, TypeVar
from typing import Protocol as Interface

from coilwright.kit.access_devices import Wire
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device
from coilwright.kit.lengths import measure_past_hub, stand_out
from coilwright.kit.pair_fit import Measured, PairFit
from coilwright.kit.pushing import Lumen, measure_end, measure_push, push_behind, pusher_end
from coilwright.kit.widths import measure_through, pass_through
from coilwright.protocol import Protocol

Rule = Callable[[Device, Device, Protocol], PairFit]
PAIR_RULES: dict[str, Rule] = {"through": pass_through, "coil": pass_through, "past-hub": stand_out}


class Compared(Interface):
    """What a chain has to know of a pair, with words or without."""

    @property
    def rule(self) -> str: ...
    @property
    def inner(self) -> str | None: ...
    @property
    def outer(self) -> str | None: ...
    @property
    def margin_mm(self) -> float | None: ...
    @property
    def passes(self) -> bool: ...
    @property
    def fails(self) -> bool: ...


P = TypeVar("P", bound=Compared)


class PairSource(ABC, Generic[P]):
    """The pairs that a chain asks for."""

    @abstractmethod
    def through(self, inner: Device, outer: Device) -> P:
        """See ``pass_through``."""

    @abstractmethod
    def past_hub(self, inner: Device, outer: Device) -> P:
        """See ``stand_out``."""

    @abstractmethod
    def behind(self, pusher: Wire, coil: Coil, lumen: Lumen) -> P:
        """See ``push_behind``."""

    @abstractmethod
    def end(self, pusher: Wire, coil: Coil) -> P:
        """See ``pusher_end``."""

    def inside(self, inner: Device, outer: Device) -> list[P]:
        """Width and length of ``inner`` in ``outer``."""
        return [self.through(inner, outer), self.past_hub(inner, outer)]


class Comparison(PairSource[PairFit]):
    """Pairs under one protocol in words, width and length remembered by device id."""

    def __init__(self, protocol: Protocol) -> None:
        self.protocol = protocol
        self._known: dict[tuple[Rule, str, str], PairFit] = {}

    def through(self, inner: Device, outer: Device) -> PairFit:
        """See ``pass_through``."""
        return self.pair(pass_through, inner, outer)

    def past_hub(self, inner: Device, outer: Device) -> PairFit:
        """See ``stand_out``."""
        return self.pair(stand_out, inner, outer)

    def behind(self, pusher: Wire, coil: Coil, lumen: Lumen) -> PairFit:
        """See ``push_behind``."""
        return push_behind(pusher, coil, lumen)

    def end(self, pusher: Wire, coil: Coil) -> PairFit:
        """See ``pusher_end``."""
        return pusher_end(pusher, coil)

    def pair(self, rule: Rule, inner: Device, outer: Device) -> PairFit:
        """One of ``PAIR_RULES``, computed the first time that it is asked."""
        key = (rule, inner.id, outer.id)
        if key not in self._known:
            self._known[key] = rule(inner, outer, self.protocol)
        return self._known[key]


class Tried(NamedTuple):
    """A pair that is only tried: as ``PairFit``, without its words."""

    rule: str
    inner: str | None
    outer: str | None
    margin_mm: float | None
    passes: bool
    fails: bool


class Trial(PairSource[Tried]):
    """Pairs under one protocol by their numbers alone, remembered by device id."""

    def __init__(self, protocol: Protocol) -> None:
        self._protocol = protocol
        self._widths: dict[tuple[str, str], Tried] = {}
        self._lengths: dict[tuple[str, str], Tried] = {}

    def through(self, inner: Device, outer: Device) -> Tried:
        """See ``measure_through``."""
        key = inner.id, outer.id
        if key not in self._widths:
            rule = "coil" if isinstance(inner, Coil) else "through"
            found = measure_through(inner, outer, self._protocol)
            self._widths[key] = _tried(rule, inner, outer, found)
        return self._widths[key]

    def past_hub(self, inner: Device, outer: Device) -> Tried:
        """See ``measure_past_hub``."""
        key = inner.id, outer.id
        if key not in self._lengths:
            found = measure_past_hub(inner, outer, self._protocol)
            self._lengths[key] = _tried("past-hub", inner, outer, found)
        return self._lengths[key]

    def behind(self, pusher: Wire, coil: Coil, lumen: Lumen) -> Tried:
        """See ``measure_push``."""
        return _tried("pusher", pusher, coil, measure_push(pusher, coil, lumen))

    def end(self, pusher: Wire, coil: Coil) -> Tried:
        """See ``measure_end``."""
        return _tried("pusher-end", pusher, coil, measure_end(pusher))


def _tried(rule: str, inner: Device, outer: Device, found: Measured) -> Tried:
    return Tried(rule, inner.id, outer.id, found.margin_mm, found.passes, found.fails)
