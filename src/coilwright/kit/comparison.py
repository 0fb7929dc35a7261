"""Every pair compared once: a chain tried with thousands of other devices repeats most pairs."""

from collections.abc import Callable

from coilwright.kit.device import Device
from coilwright.kit.lengths import stand_out
from coilwright.kit.pair_fit import PairFit
from coilwright.kit.widths import pass_through
from coilwright.protocol import Protocol

Rule = Callable[[Device, Device, Protocol], PairFit]
PAIR_RULES: dict[str, Rule] = {"through": pass_through, "coil": pass_through, "past-hub": stand_out}


class Comparison:
    """Width and length of pairs under one protocol, remembered by device id."""

    def __init__(self, protocol: Protocol) -> None:
        self.protocol = protocol
        self._known: dict[tuple[Rule, str, str], PairFit] = {}

    def through(self, inner: Device, outer: Device) -> PairFit:
        """See ``pass_through``."""
        return self.pair(pass_through, inner, outer)

    def past_hub(self, inner: Device, outer: Device) -> PairFit:
        """See ``stand_out``."""
        return self.pair(stand_out, inner, outer)

    def inside(self, inner: Device, outer: Device) -> list[PairFit]:
        """Width and length of ``inner`` in ``outer``."""
        return [self.through(inner, outer), self.past_hub(inner, outer)]

    def pair(self, rule: Rule, inner: Device, outer: Device) -> PairFit:
        """One of ``PAIR_RULES``, computed the first time that it is asked."""
        key = (rule, inner.id, outer.id)
        if key not in self._known:
            self._known[key] = rule(inner, outer, self.protocol)
        return self._known[key]
