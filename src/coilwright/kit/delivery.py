"""The whole chain from needle to coil or plug: which way delivers it, or what fails."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from coilwright.kit.access_devices import Wire
from coilwright.kit.chain import dimensions
from coilwright.kit.comparison import Comparison
from coilwright.kit.delivery_bores import Goods, comes_on_its_own
from coilwright.kit.delivery_instead import Instead
from coilwright.kit.delivery_search import Found, WaySearch
from coilwright.kit.delivery_ways import Way, Ways, delivery_ways
from coilwright.kit.kit import Kit
from coilwright.kit.pair_fit import PairFit, not_in_kit
from coilwright.kit.plug import Plug
from coilwright.kit.pushing import push_behind
from coilwright.protocol import Protocol


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryCheck:
    """Whether the kit delivers a coil or plug, by which way, and which pair fails by how much.

    ``coil`` is its id, of a plug too. ``coil_passes`` speaks of it and the catheters it runs
    through; ``passes`` of every pair from needle to pusher. ``devices`` are the ids of the way
    from needle to coil; ``catheter`` and
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


def check_delivery(
    coil: Goods,
    kit: Kit,
    protocol: Protocol,
    *,
    on: date | None = None,
    ways: Ways | None = None,
) -> DeliveryCheck:
    """The best way for this coil or plug through what is on the shelf.

    ``ways`` may be handed in where many are checked against the same kit. A way on which
    every pair passes comes first, then one on which the coil passes, the simpler way before one
    with a microcatheter, the roomier before the tighter.
    """
    found = delivery_ways(kit, protocol, on) if ways is None else ways
    return check_deliveries((coil,), found, protocol)[coil.id]


def check_deliveries(
    goods: Sequence[Goods], ways: Ways, protocol: Protocol
) -> dict[str, DeliveryCheck]:
    """The best way for each of many coils and plugs, by id.

    Those alike in what decides how they fit go the same way: it is looked for once.
    """
    if not ways.sizes.catheters:
        lacking = (not_in_kit("coil", "catheter"),)
        return {good.id: _check(good, lacking, None, (), (), coil_passes=False) for good in goods}
    checking = _Checking(ways, protocol)
    return {good.id: checking.check(good) for good in goods}


class _Checking:
    """Goods checked one after the other against the same ways."""

    def __init__(self, ways: Ways, protocol: Protocol) -> None:
        self._ways, self._compare = ways, Comparison(protocol)
        self._search, self._instead = WaySearch(ways, protocol), Instead(ways, protocol)
        self._found: dict[tuple[object, ...], Found] = {}
        self._worded: dict[tuple[str, str | None], Way] = {}
        self._would_do: dict[tuple[object, ...], tuple[str, ...]] = {}

    def check(self, good: Goods) -> DeliveryCheck:
        size = dimensions(good)
        if size not in self._found:
            self._found[size] = self._search.best(good)
        found = self._found[size]
        way = self._way(found)
        through = (*way.inside, self._compare.through(good, way.lumen))
        coil_passes = all(pair.passes for pair in through)
        ids, pushed = self._pushed(good, way, found.pusher) if coil_passes else ((), ())
        pairs = (*through, *pushed, *way.access)
        failing = next((pair for pair in pairs if not pair.passes), None)
        if failing is not None and size not in self._would_do:
            self._would_do[size] = self._instead.would_do(failing, good)
        would_do = () if failing is None else self._would_do[size]
        return _check(good, pairs, way, (*way.devices, *ids), would_do, coil_passes=coil_passes)

    def _way(self, found: Found) -> Way:
        micro = found.microcatheter
        key = found.catheter.id, None if micro is None else micro.id
        if key not in self._worded:
            self._worded[key] = self._ways.way(found.catheter, micro)
        return self._worded[key]

    def _pushed(
        self, good: Goods, way: Way, wire: Wire | None
    ) -> tuple[tuple[str, ...], tuple[PairFit, ...]]:
        if isinstance(good, Plug) or comes_on_its_own(good):
            return (), (self._compare.past_hub(good, way.lumen),)
        if wire is None:
            return (), (not_in_kit("pusher", "wire to push it"),)
        inside = self._compare.inside(wire, way.lumen)
        return (wire.id,), (*inside, push_behind(wire, good, way.lumen))


def _check(
    good: Goods,
    pairs: tuple[PairFit, ...],
    way: Way | None,
    devices: tuple[str, ...],
    would_do: tuple[str, ...],
    *,
    coil_passes: bool,
) -> DeliveryCheck:
    micro = None if way is None else way.microcatheter
    return DeliveryCheck(
        coil=good.id,
        passes=all(pair.passes for pair in pairs),
        coil_passes=coil_passes,
        catheter=None if way is None else way.catheter.id,
        microcatheter=None if micro is None else micro.id,
        devices=(*devices, good.id),
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
