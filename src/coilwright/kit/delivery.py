"""The whole chain from needle to coil: which way through the kit delivers a coil, or what fails."""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields, replace
from datetime import date

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.chain import dimensions
from coilwright.kit.coil import Coil, CoilDelivery
from coilwright.kit.comparison import PAIR_RULES
from coilwright.kit.device import Device
from coilwright.kit.kit import Kit
from coilwright.kit.lengths import stand_out
from coilwright.kit.pair_fit import PairFit, not_in_kit
from coilwright.kit.pushing import push_behind
from coilwright.kit.widths import pass_through
from coilwright.protocol import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way to the vein: a catheter, perhaps a microcatheter in it, and what brings them there.

    ``access`` are the pairs from needle to catheter, ``inside`` those of the microcatheter.
    """

    catheter: Catheter
    microcatheter: Microcatheter | None
    devices: tuple[str, ...]
    access: tuple[PairFit, ...]
    inside: tuple[PairFit, ...]

    @property
    def lumen(self) -> Catheter | Microcatheter:
        """The device that the coil runs through."""
        return self.microcatheter or self.catheter


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryCheck:
    """Whether the kit delivers a coil, by which way, and which pair fails by how much.

    ``coil_passes`` speaks of the coil and the catheters it runs through; ``passes`` of every pair
    from needle to pusher. ``devices`` are the ids of the way from needle to coil; ``catheter`` and
    ``microcatheter`` name two of them again. ``would_do`` are the devices on the shelf that would
    do in the first failing pair.
    """

    coil: str
    passes: bool
    coil_passes: bool
    catheter: str | None
    microcatheter: str | None
    devices: tuple[str, ...]
    pairs: tuple[PairFit, ...]
    would_do: tuple[str, ...]
    text: str

    @property
    def failing(self) -> tuple[PairFit, ...]:
        """The pairs that do not pass."""
        return tuple(pair for pair in self.pairs if not pair.passes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """Every way that a kit offers, and the part of the kit that is on the shelf and in date.

    Of devices of one size, the first stands for all.
    """

    usable: Kit
    ways: tuple[Way, ...]


def delivery_ways(kit: Kit, protocol: Protocol, on: date | None = None) -> Ways:
    """Every size of catheter, alone and with every size of microcatheter, with its best access."""
    usable = usable_kit(kit, on)
    ways = []
    sizes = _one_per_size(usable)
    for catheter in sizes.catheters:
        plain = _plain_way(catheter, sizes, protocol)
        ways.append(plain)
        ways.extend(_inner_way(plain, micro, sizes, protocol) for micro in sizes.microcatheters)
    return Ways(usable=usable, ways=tuple(ways))


def check_delivery(
    coil: Coil,
    kit: Kit,
    protocol: Protocol,
    *,
    on: date | None = None,
    ways: Ways | None = None,
) -> DeliveryCheck:
    """The best way for this coil through what is on the shelf.

    ``ways`` may be handed in where many coils are checked against the same kit. A way on which
    every pair passes comes first, then one on which the coil passes, the simpler way before one
    with a microcatheter, the roomier before the tighter.
    """
    found = delivery_ways(kit, protocol, on) if ways is None else ways
    checks = [_check_way(coil, way, found.usable, protocol) for way in found.ways]
    if not checks:
        return _answer(coil, (not_in_kit("coil", "catheter"),), devices=())
    best = min(checks, key=_merit)
    if best.passes:
        return best
    would_do = _would_do(best.failing[0], coil, found.usable, protocol)
    return replace(best, would_do=would_do, text=_words(best.pairs, would_do))


def usable_kit(kit: Kit, on: date | None) -> Kit:
    """The part of the kit that is on the shelf and not known to be expired on that day."""

    return _kit_of(kit, lambda shelf: (d for d in shelf if d.usable(on)))


def _one_per_size(kit: Kit) -> Kit:
    """The first device of each size: the others fit alike, and a shelf holds many of them."""

    def firsts(shelf: Iterable[Device]) -> Iterable[Device]:
        first: dict[tuple[object, ...], Device] = {}
        for device in shelf:
            first.setdefault(dimensions(device), device)
        return first.values()

    return _kit_of(kit, firsts)


def _kit_of(kit: Kit, kept: Callable[[Iterable[Device]], Iterable[Device]]) -> Kit:
    shelves = {f.name: tuple(kept(getattr(kit, f.name))) for f in fields(kit)}
    return Kit(**shelves)  # type: ignore[arg-type]  # each shelf keeps its own kind


def _plain_way(catheter: Catheter, usable: Kit, protocol: Protocol) -> Way:
    devices, access = _access(catheter, usable, protocol)
    return Way(catheter=catheter, microcatheter=None, devices=devices, access=access, inside=())


def _inner_way(plain: Way, micro: Microcatheter, usable: Kit, protocol: Protocol) -> Way:
    """The same way with a microcatheter inside, led by a wire of its own."""
    wire, wire_pairs = _guide_wire(micro, usable, protocol)
    return replace(
        plain,
        microcatheter=micro,
        devices=(*plain.devices, *wire, micro.id),
        access=(*plain.access, *wire_pairs),
        inside=(
            pass_through(micro, plain.catheter, protocol),
            stand_out(micro, plain.catheter, protocol),
        ),
    )


def _merit(check: DeliveryCheck) -> tuple[bool, bool, bool, int, float]:
    worst_mm = min((p.margin_mm for p in check.pairs if p.margin_mm is not None), default=0.0)
    return (
        not check.passes,
        not check.coil_passes,
        check.microcatheter is not None,
        len(check.failing),
        -worst_mm,
    )


def _check_way(coil: Coil, way: Way, usable: Kit, protocol: Protocol) -> DeliveryCheck:
    through = (*way.inside, pass_through(coil, way.lumen, protocol))
    coil_passes = all(pair.passes for pair in through)
    pusher, push = _pusher(coil, way, usable, protocol) if coil_passes else ((), ())
    check = _answer(
        coil,
        (*through, *push, *way.access),
        devices=(*way.devices, *pusher),
        coil_passes=coil_passes,
    )
    micro = way.microcatheter
    return replace(
        check, catheter=way.catheter.id, microcatheter=None if micro is None else micro.id
    )


def _answer(
    coil: Coil,
    pairs: tuple[PairFit, ...],
    *,
    devices: tuple[str, ...],
    would_do: tuple[str, ...] = (),
    coil_passes: bool = False,
) -> DeliveryCheck:
    return DeliveryCheck(
        coil=coil.id,
        passes=all(pair.passes for pair in pairs),
        coil_passes=coil_passes,
        catheter=None,
        microcatheter=None,
        devices=(*devices, coil.id),
        pairs=pairs,
        would_do=would_do,
        text=_words(pairs, would_do),
    )


def _words(pairs: tuple[PairFit, ...], would_do: tuple[str, ...]) -> str:
    failing = [pair.text for pair in pairs if not pair.passes]
    if not failing:
        signed = all(pair.limit_stands for pair in pairs)
        caution = "" if signed else " (partly by limits from memory, not signed off)"
        return f"every labelled pair passes{caution}"
    rescue = f"would do: {', '.join(would_do)}" if would_do else "nothing else in the kit would do"
    return "; ".join((*failing, rescue))


Found = tuple[tuple[str, ...], tuple[PairFit, ...]]


def _best(found: Iterable[Found], otherwise: PairFit) -> Found:
    """The first candidate whose pairs all pass, else the one that fails by least."""

    def merit(candidate: Found) -> tuple[int, float]:
        failing = [pair for pair in candidate[1] if not pair.passes]
        short_mm = -min((pair.margin_mm or 0.0 for pair in failing), default=0.0)
        return len(failing), short_mm

    return min(found, key=merit, default=((), (otherwise,)))


def _access(catheter: Catheter, kit: Kit, protocol: Protocol) -> Found:
    """Needle, access wire and sheath for this catheter, and the wire that leads it."""
    sheath_ids, sheath_pairs = _best(
        (
            ((s.id,), (pass_through(catheter, s, protocol), stand_out(catheter, s, protocol)))
            for s in sorted(kit.sheaths, key=lambda s: s.accepts_fr or math.inf)
        ),
        not_in_kit("through", "sheath"),
    )
    sheath = next((s for s in kit.sheaths if s.id in sheath_ids), None)
    entry_ids, entry_pairs = _best(
        (_entry(needle, wire, sheath, protocol) for needle in kit.needles for wire in kit.wires),
        not_in_kit("through", "needle and access wire"),
    )
    wire_ids, wire_pairs = _guide_wire(catheter, kit, protocol)
    devices = dict.fromkeys((*entry_ids, *sheath_ids, *wire_ids, catheter.id))
    return tuple(devices), (*entry_pairs, *sheath_pairs, *wire_pairs)


def _entry(needle: Needle, wire: Wire, sheath: Sheath | None, protocol: Protocol) -> Found:
    through_needle = pass_through(wire, needle, protocol)
    if sheath is None:
        return (needle.id, wire.id), (through_needle,)
    return (needle.id, wire.id), (through_needle, pass_through(wire, sheath, protocol))


def _widest_first(wires: Iterable[Wire]) -> list[Wire]:
    """A wire without a labelled diameter comes last."""
    return sorted(wires, key=lambda wire: -(wire.wire_inch or 0.0))


def _guide_wire(lumen: Catheter | Microcatheter, kit: Kit, protocol: Protocol) -> Found:
    """The widest wire that runs through this lumen and stands out of its hub."""
    return _best(
        (
            ((wire.id,), (pass_through(wire, lumen, protocol), stand_out(wire, lumen, protocol)))
            for wire in _widest_first(kit.wires)
        ),
        not_in_kit("through", "wire"),
    )


def _pusher(coil: Coil, way: Way, kit: Kit, protocol: Protocol) -> Found:
    if coil.delivery is CoilDelivery.DETACHABLE:
        return (), (stand_out(coil, way.lumen, protocol),)
    return _best(
        (
            (
                (wire.id,),
                (
                    pass_through(wire, way.lumen, protocol),
                    stand_out(wire, way.lumen, protocol),
                    push_behind(wire, coil, way.lumen),
                ),
            )
            for wire in _widest_first(kit.wires)
        ),
        not_in_kit("pusher", "wire to push it"),
    )


def _would_do(pair: PairFit, coil: Coil, kit: Kit, protocol: Protocol) -> tuple[str, ...]:
    """Devices of the kit that pass in place of either member of a failing pair."""
    rule = PAIR_RULES.get(pair.rule)
    if rule is None or pair.inner is None or pair.outer is None:
        return ()
    if pair.inner == coil.id:
        return tuple(d.id for d in _lumens(kit, protocol) if rule(coil, d, protocol).passes)
    inner, outer = kit.device(pair.inner), kit.device(pair.outer)
    return (
        *(d.id for d in _like(outer, kit) if rule(inner, d, protocol).passes),
        *(d.id for d in _like(inner, kit) if rule(d, outer, protocol).passes),
    )


def _lumens(kit: Kit, protocol: Protocol) -> tuple[Device, ...]:
    """What a coil could run through: catheters, and microcatheters that some catheter takes."""
    taken = (
        micro
        for micro in kit.microcatheters
        if any(
            pass_through(micro, guide, protocol).passes and stand_out(micro, guide, protocol).passes
            for guide in kit.catheters
        )
    )
    return (*kit.catheters, *taken)


def _like(device: Device, kit: Kit) -> tuple[Device, ...]:
    return tuple(d for d in kit if type(d) is type(device) and d.id != device.id)
