"""The ways that a kit offers: catheters, alone and with a microcatheter, and their best access.

A shelf may hold thousands of sizes: what is chosen is chosen by numbers, and the pairs are put
into words for the ways that are shown.
"""

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from functools import cached_property
from itertools import accumulate

from coilwright.kit.access_devices import Catheter, Microcatheter, Wire
from coilwright.kit.chain import dimensions
from coilwright.kit.comparison import Comparison
from coilwright.kit.delivery_access import Access, Accesses, Leading
from coilwright.kit.device import Device
from coilwright.kit.first_best import Tally, less, tally_of
from coilwright.kit.kit import Kit
from coilwright.kit.label_values import bore_of, length_of, width_of
from coilwright.kit.lengths import needed_past_hub_mm
from coilwright.kit.pair_fit import SAME_MM, PairFit, not_in_kit
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


class Ways:
    """Every way that a kit offers, and the part of the kit that is on the shelf and in date.

    Of devices of one size, the first stands for all; ``sizes`` are these.
    """

    def __init__(self, usable: Kit, protocol: Protocol) -> None:
        self.usable = usable
        self.sizes = one_per_size(usable)
        self._compare = Comparison(protocol)
        self._leading = Leading(self.sizes, protocol)
        self._accesses = Accesses(self.sizes, self._leading, protocol)
        self._access: dict[str, Access] = {}
        self._leads: dict[str, tuple[Wire | None, Tally]] = {}
        self._plain: dict[str, Way] = {}

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """Every catheter alone and with every microcatheter, in words."""
        inner = (None, *self.sizes.microcatheters)
        return tuple(self.way(c, micro) for c in self.sizes.catheters for micro in inner)

    @cached_property
    def lumens(self) -> tuple[Catheter | Microcatheter, ...]:
        """The catheters, and the microcatheters that one of them takes, by the first that does."""
        firsts = [(self.takes.first(micro), micro) for micro in self.sizes.microcatheters]
        taken = [(first, micro) for first, micro in firsts if first is not None]
        return (*self.sizes.catheters, *(m for _, m in sorted(taken, key=lambda one: one[0])))

    @cached_property
    def takes(self) -> "Guides":
        """Which catheter takes which microcatheter."""
        return Guides(self.sizes.catheters, self.sizes.microcatheters, self._compare.protocol)

    @property
    def wires(self) -> list[Wire]:
        """The wires from the widest."""
        return self._leading.wires

    def fewest_failing(self) -> Way | None:
        """The first catheter alone of whose access most pairs pass; null without a catheter."""
        best: tuple[int, Catheter] | None = None
        for catheter in self.sizes.catheters:
            failing = self.access(catheter).tally.failing
            if best is None or failing < best[0]:
                best = failing, catheter
            if failing == 0:
                break
        return None if best is None else self.way(best[1])

    def access(self, catheter: Catheter) -> Access:
        """What this catheter comes by, in numbers."""
        if catheter.id not in self._access:
            self._access[catheter.id] = self._accesses.access(catheter)
        return self._access[catheter.id]

    def lead(self, lumen: Catheter | Microcatheter) -> tuple[Wire | None, Tally]:
        """The widest wire that leads it, in numbers."""
        if lumen.id not in self._leads:
            self._leads[lumen.id] = self._leading.lead(lumen)
        return self._leads[lumen.id]

    def way(self, catheter: Catheter, micro: Microcatheter | None = None) -> Way:
        """This way in words."""
        if catheter.id not in self._plain:
            self._plain[catheter.id] = self._plain_way(catheter)
        plain = self._plain[catheter.id]
        if micro is None:
            return plain
        wire_ids, wire_pairs = self._led(self.lead(micro)[0], micro)
        return replace(
            plain,
            microcatheter=micro,
            devices=(*plain.devices, *wire_ids, micro.id),
            access=(*plain.access, *wire_pairs),
            inside=tuple(self._compare.inside(micro, plain.catheter)),
        )

    def _plain_way(self, catheter: Catheter) -> Way:
        access, compare = self.access(catheter), self._compare
        ids: list[str] = []
        pairs: list[PairFit] = []
        if access.entry is None:
            pairs.append(not_in_kit("through", "needle and access wire"))
        else:
            needle, wire = access.entry
            ids += needle.id, wire.id
            pairs.append(compare.through(wire, needle))
            pairs += [] if access.sheath is None else [compare.through(wire, access.sheath)]
        if access.sheath is None:
            pairs.append(not_in_kit("through", "sheath"))
        else:
            ids.append(access.sheath.id)
            pairs += compare.inside(catheter, access.sheath)
        wire_ids, wire_pairs = self._led(access.lead, catheter)
        return Way(
            catheter=catheter,
            microcatheter=None,
            devices=tuple(dict.fromkeys((*ids, *wire_ids, catheter.id))),
            access=(*pairs, *wire_pairs),
            inside=(),
        )

    def _led(
        self, wire: Wire | None, lumen: Catheter | Microcatheter
    ) -> tuple[tuple[str, ...], tuple[PairFit, ...]]:
        if wire is None:
            return (), (not_in_kit("through", "wire"),)
        return (wire.id,), tuple(self._compare.inside(wire, lumen))


class Guides:
    """Which catheter takes which microcatheter by width and length, in numbers."""

    def __init__(
        self,
        catheters: Sequence[Catheter],
        micros: Sequence[Microcatheter],
        protocol: Protocol,
    ) -> None:
        """Any microcatheter: what a catheter asks of one is the same for all of them."""
        self._sizes = {m.id: (width_of(m, m).mm, length_of(m).mm) for m in micros}
        self._bores: list[tuple[float | None, float | None]] = []
        if micros:
            self._bores = [
                (bore_of(c, micros[0]).mm, needed_past_hub_mm(micros[0], c, protocol))
                for c in catheters
            ]
        known = sorted((b, n) for b, n in self._bores if b is not None and n is not None)
        self._widths = [bore_mm for bore_mm, _ in known]
        self._shortest = list(accumulate((n for _, n in reversed(known)), min))[::-1]

    def first(self, micro: Microcatheter) -> int | None:
        """The place of the first catheter that takes it; null where none does."""
        width_mm, length_mm = self._sizes[micro.id]
        if width_mm is None or length_mm is None:
            return None
        wide = bisect_left(self._widths, True, key=lambda bore: bore - width_mm >= -SAME_MM)
        if wide == len(self._widths) or length_mm - self._shortest[wide] < -SAME_MM:
            return None
        return next(i for i in range(len(self._bores)) if self.holds(i, micro, -SAME_MM))

    def holds(self, place: int, micro: Microcatheter, least_mm: float) -> bool:
        """Whether the catheter at this place takes it with no less to spare than that."""
        bore_mm, needed_mm = self._bores[place]
        width_mm, length_mm = self._sizes[micro.id]
        if bore_mm is None or needed_mm is None or width_mm is None or length_mm is None:
            return False
        return bore_mm - width_mm >= least_mm and length_mm - needed_mm >= least_mm

    def tally(self, place: int, micro: Microcatheter) -> Tally:
        """What the two pairs come to in the catheter at this place."""
        bore_mm, needed_mm = self._bores[place]
        width_mm, length_mm = self._sizes[micro.id]
        return tally_of((less(bore_mm, width_mm), less(length_mm, needed_mm)))


def delivery_ways(kit: Kit, protocol: Protocol, on: date | None = None) -> Ways:
    """Every size of catheter, alone and with every size of microcatheter, with its best access."""
    return Ways(usable_kit(kit, on), protocol)


def usable_kit(kit: Kit, on: date | None) -> Kit:
    """The part of the kit that is on the shelf and not known to be expired on that day."""

    return _kit_of(kit, lambda shelf: (d for d in shelf if d.usable(on)))


def one_per_size(kit: Kit) -> Kit:
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
