"""What fits through what in a chain of named devices, from needle to coil.

Devices may be named in any order: the trade's own order is needle, wire, sheath, catheter,
microcatheter, and what is delivered through the last of them.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields
from functools import cache
from itertools import pairwise
from operator import attrgetter
from typing import Any, Generic

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.coil import Coil, CoilDelivery
from coilwright.kit.comparison import Comparison, P, PairSource
from coilwright.kit.device import Device
from coilwright.kit.lengths import exchange_over
from coilwright.kit.pair_fit import PairFit
from coilwright.kit.plug import Plug
from coilwright.kit.pushing import Lumen
from coilwright.kit.snare import Snare

CHAIN_ORDER: tuple[type[Device], ...] = (
    Needle,
    Wire,
    Sheath,
    Catheter,
    Microcatheter,
    Coil,
    Plug,
    Snare,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain(Generic[P]):
    """Every pair of a chain; ``led`` is which wire leads which needle or tube, ``not_checked`` what
    no named device answers.
    """

    devices: tuple[Device, ...]
    pairs: tuple[P, ...]
    led: tuple[tuple[Wire, Needle | Lumen], ...]
    not_checked: tuple[str, ...]


def has_width(device: Device) -> bool:
    """Whether this kind of device goes through another, or another through it."""
    return isinstance(device, CHAIN_ORDER)


def chain_of(devices: Sequence[Device], compare: PairSource[P]) -> Chain[P]:
    """Compare every pair of neighbours that these devices make.

    Each tube is compared with the next one in it; the needle and each tube with the named wire
    that suits it best; coil, plug and snare with the innermost tube. A wire that a wider tube
    uses is not held against a microcatheter that it does not pass.
    """
    ordered = _ordered(devices)
    needles = [d for d in ordered if isinstance(d, Needle)]
    wires = [d for d in ordered if isinstance(d, Wire)]
    tubes: list[Lumen] = [d for d in ordered if isinstance(d, Sheath | Catheter | Microcatheter)]
    goods = [d for d in ordered if isinstance(d, Coil | Plug | Snare)]
    led, not_checked = _led(wires, [*needles, *tubes], compare)
    pairs = [pair for wire, outer in led for pair in compare.inside(wire, outer)]
    for outer, inner in pairwise(tubes):
        pairs += compare.inside(inner, outer)
    for good in goods:
        more, unanswered = _delivered(good, tubes, wires, compare)
        pairs += more
        not_checked += unanswered
    return Chain(
        devices=tuple(ordered),
        pairs=tuple(dict.fromkeys(pairs)),
        led=tuple(led),
        not_checked=tuple(not_checked),
    )


def _ordered(devices: Iterable[Device]) -> list[Device]:
    """In the trade's order; tubes of one kind wider first, as named where a label is silent."""
    return sorted(devices, key=_place)


def _place(device: Device) -> tuple[int, float]:
    kind = CHAIN_ORDER.index(type(device))
    if isinstance(device, Sheath | Catheter | Microcatheter):
        return kind, -(device.outer_fr or 0.0)
    return kind, 0.0


Led = list[tuple[Wire, Needle | Lumen]]


def _led(
    wires: list[Wire], outers: list[Needle | Lumen], compare: PairSource[P]
) -> tuple[Led, list[str]]:
    """The wire that suits each tube best, and every wire left over with the outermost tube."""
    led: Led = []
    not_checked: list[str] = []
    for outer in outers if wires else []:
        wire = wires[0]
        if len(wires) > 1:
            wire = min(wires, key=lambda w: _failing(compare.inside(w, outer)))
        only_wider = led and isinstance(outer, Microcatheter)
        if only_wider and compare.through(wire, outer).fails:
            not_checked.append(f"{outer.name}: no wire is named that passes it")
        else:
            led.append((wire, outer))
    used = {wire.id for wire, _ in led}
    led += [(wire, outers[0]) for wire in wires if wire.id not in used and outers]
    return led, not_checked


def _delivered(
    good: Coil | Plug | Snare, tubes: list[Lumen], wires: list[Wire], compare: PairSource[P]
) -> tuple[list[P], list[str]]:
    if not tubes:
        return [], [f"{good.name}: no sheath or catheter is named that it could run through"]
    lumen = tubes[-1]
    if isinstance(good, Snare):
        return [*compare.inside(good, lumen), *_taken_out(good, tubes, compare)], []
    if isinstance(good, Plug):
        return compare.inside(good, lumen), []
    through = compare.through(good, lumen)
    if good.delivery is CoilDelivery.DETACHABLE:
        return [through, compare.past_hub(good, lumen)], []
    # A wire of which a label is silent stays: it is told what to read.
    passing = [w for w in wires if not compare.through(w, lumen).fails]
    if not passing:
        return [through], [f"{good.name}: no wire is named that pushes it through {lumen.name}"]
    pushers = [_pushed(wire, good, lumen, compare) for wire in passing]
    best = pushers[0] if len(pushers) == 1 else min(pushers, key=_failing)
    return [through, *best], []


def _taken_out(snare: Snare, tubes: list[Lumen], compare: PairSource[P]) -> list[P]:
    """The sheath that takes the snare out with its catch, where the label names one."""
    sheaths = [tube for tube in tubes if isinstance(tube, Sheath) and tube is not tubes[-1]]
    if snare.needs_sheath_fr is None:
        return []
    return [compare.through(snare, sheath) for sheath in sheaths]


def _pushed(pusher: Wire, coil: Coil, lumen: Lumen, compare: PairSource[P]) -> list[P]:
    return [
        *compare.inside(pusher, lumen),
        compare.behind(pusher, coil, lumen),
        compare.end(pusher, coil),
    ]


def _failing(pairs: list[P]) -> tuple[int, int, float]:
    """Fewest failing pairs first, then fewest silent labels, then the roomiest width."""
    widths_mm = [p.margin_mm for p in pairs if p.rule == "through" and p.margin_mm is not None]
    roomy_mm = min((m for m in widths_mm if m < 0), default=0.0)
    return (
        sum(pair.fails for pair in pairs),
        sum(not pair.passes for pair in pairs),
        -roomy_mm,
    )


def exchanges_of(
    chain: Chain[PairFit], compare: Comparison, *, in_body_cm: float | None = None
) -> tuple[PairFit, ...]:
    """Whether each catheter comes off over the wire that leads it."""
    return tuple(
        exchange_over(wire, tube, compare.protocol, in_body_cm=in_body_cm)
        for wire, tube in chain.led
        if isinstance(tube, Catheter | Microcatheter) and compare.through(wire, tube).passes
    )


def dimensions(device: Device) -> tuple[object, ...]:
    """What decides how a device fits: two devices alike in it fit alike."""
    kind: Any = type(device)
    return kind, _dimensions_of(kind)(device)


@cache
def _dimensions_of(kind: Any) -> Callable[[Device], object]:
    """Reads the dimensions that this kind has; kept, since a shelf holds thousands."""
    names = [field.name for field in fields(kind) if field.name in _DIMENSIONS]
    return attrgetter(*names) if names else lambda _: None


_DIMENSIONS = (
    "inner_diameter_mm",
    "accepts_wire_inch",
    "accepts_fr",
    "outer_fr",
    "lumen_inch",
    "lumen_mm",
    "length_cm",
    "wire_inch",
    "front_end",
    "back_end",
    "wire_diameter_inch",
    "needs_lumen_min_inch",
    "needs_lumen_max_inch",
    "pusher_length_cm",
    "delivery",
    "shaft_inch",
    "needs_sheath_fr",
)
