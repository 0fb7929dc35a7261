"""What in the kit would do where a pair of a chain fails: other devices tried in its place."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import takewhile

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.chain import Chain, chain_of, dimensions
from coilwright.kit.coil import Coil
from coilwright.kit.comparison import PAIR_RULES, Trial, Tried
from coilwright.kit.device import Device
from coilwright.kit.pair_fit import PairFit
from coilwright.kit.plug import Plug
from coilwright.kit.snare import Snare
from coilwright.kit.wire_classes import WireClasses


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """What in the kit would do in place of one device of a failing pair, or added between them.

    Each of ``devices`` (ids, those on the shelf and in date, or the next wider tube of the chain
    itself) mends the pair, leaves fewer pairs failing, and fails with no other device of the
    chain. ``in_place_of`` null: a microcatheter added inside the catheter. A coil or plug is only
    replaced by one of the same nominal diameter: another size is another plan.
    """

    in_place_of: str | None
    devices: tuple[str, ...]


class Swaps:
    """One chain, and the devices of the shelf that are tried in it."""

    def __init__(self, chain: Chain[PairFit], shelf: Sequence[Device], compare: Trial) -> None:
        self._chain, self._compare = chain, compare
        self._named = {device.id: device for device in chain.devices}
        self._shelf = [device for device in shelf if device.id not in self._named]
        self._known: dict[tuple[str | None, str], bool] = {}
        self._sizes: dict[str, tuple[object, ...]] = {}
        self._wires: WireClasses | None = None
        self._failing = sum(pair.fails for pair in chain.pairs)

    def mends(self, pair: PairFit) -> tuple[Mend, ...]:
        """What would do in place of either member of a failing pair, or added between the two."""
        inner, outer = self._named[pair.inner or ""], self._named[pair.outer or ""]
        mends = [
            Mend(in_place_of=outer.id, devices=self._instead(outer, pair, inner)),
            Mend(in_place_of=inner.id, devices=self._instead(inner, pair, outer)),
        ]
        if isinstance(inner, Coil | Plug | Snare) and isinstance(outer, Catheter):
            micros = (d for d in self._shelf if isinstance(d, Microcatheter))
            passes = self._compare.through
            added = self._that_do(
                micros,
                lambda d: (
                    passes(inner, d).passes and passes(d, outer).passes and self._does(d, None)
                ),
            )
            mends.append(Mend(in_place_of=None, devices=added))
        return tuple(mends)

    def _instead(self, member: Device, pair: PairFit, other: Device) -> tuple[str, ...]:
        pairs = [pair, *self._fixed(member)]
        found = self._that_do(
            (d for d in self._shelf if _replaces(d, member)),
            lambda d: self._pass_with(d, member, pairs) and self._does(d, member),
        )
        return (*self._wider(member, pair, other), *found)

    def _that_do(
        self, candidates: Iterable[Device], does: Callable[[Device], bool]
    ) -> tuple[str, ...]:
        """The ids of those that do. Of thousands many fare alike: one of each kind is tried."""
        known: dict[tuple[object, ...], bool] = {}
        found = []
        for device in candidates:
            size = self._size(device)
            if size not in known:
                known[size] = does(device)
            if known[size]:
                found.append(device.id)
        return tuple(found)

    def _size(self, device: Device) -> tuple[object, ...]:
        if isinstance(device, Wire):
            return self._wire_class(device)
        if device.id not in self._sizes:
            self._sizes[device.id] = dimensions(device)
        return self._sizes[device.id]

    def _wire_class(self, wire: Wire) -> tuple[object, ...]:
        if self._wires is None:
            wires = (device for device in self._shelf if isinstance(device, Wire))
            self._wires = WireClasses(wires, self._chain.devices, self._compare)
        return self._wires.of(wire)

    def _fixed(self, member: Device) -> list[PairFit]:
        """The member's pairs that any device in its place has too.

        All but those with a wire; of the only wire, those with needle and tubes but for a
        microcatheter, which it need not lead. With two tubes of a kind, another size may change
        which lies inside: then none is fixed.
        """
        kinds = {device.id: type(device) for device in self._chain.devices}
        if list(kinds.values()).count(type(member)) > 1:
            return []
        mine = [p for p in self._chain.pairs if member.id in (p.inner, p.outer)]
        if isinstance(member, Wire):
            return [p for p in mine if kinds[p.outer or ""] in (Needle, Sheath, Catheter)]
        return [p for p in mine if Wire not in (kinds[p.inner or ""], kinds[p.outer or ""])]

    def _pass_with(self, device: Device, member: Device, pairs: list[PairFit]) -> bool:
        """Whether these pairs pass with ``device`` for ``member``; a quick no before the chain."""
        for pair in pairs:
            if pair.rule not in PAIR_RULES:
                continue
            inner = device if pair.inner == member.id else self._named[pair.inner or ""]
            outer = device if pair.outer == member.id else self._named[pair.outer or ""]
            try_pair = self._compare.past_hub if pair.rule == "past-hub" else self._compare.through
            if not try_pair(inner, outer).passes:
                return False
        return True

    def _does(self, device: Device, member: Device | None) -> bool:
        """Whether the chain is better with this device in place of the member, or added."""
        key = (None if member is None else member.id, device.id)
        if key not in self._known:
            others = [d for d in self._chain.devices if d is not member]
            after = chain_of([*others, device], self._compare)
            touching = [pair for pair in after.pairs if device.id in (pair.inner, pair.outer)]
            self._known[key] = self._better(after, touching, added=member is None)
        return self._known[key]

    def _better(self, after: Chain[Tried], touching: Iterable[Tried], *, added: bool) -> bool:
        """A pair that is merely no longer asked counts for nothing, unless a device is added.

        An added microcatheter brings its own wire and pusher to ask for.
        """
        answers = added or len(after.not_checked) <= len(self._chain.not_checked)
        fewer = sum(pair.fails for pair in after.pairs) < self._failing
        return fewer and answers and all(pair.passes for pair in touching)

    def _wider(self, member: Device, pair: PairFit, carried: Device) -> tuple[str, ...]:
        """The tube around a failing inner tube, where what it should carry fits without it."""
        if pair.outer != member.id or not isinstance(member, Catheter | Microcatheter):
            return ()
        devices = self._chain.devices
        around = [
            d
            for d in takewhile(lambda d: d is not member, devices)
            if isinstance(d, Sheath | Catheter | Microcatheter)
        ]
        if not around or not isinstance(carried, Coil | Plug | Snare):
            return ()
        after = chain_of([d for d in devices if d is not member], self._compare)
        touching = [p for p in after.pairs if carried.id in (p.inner, p.outer)]
        return (around[-1].id,) if self._better(after, touching, added=False) else ()


def _replaces(device: Device, member: Device) -> bool:
    if type(device) is not type(member):
        return False
    if isinstance(device, Coil | Plug) and isinstance(member, Coil | Plug):
        return device.diameter_mm == member.diameter_mm
    return True
