"""What on the shelf would do in place of either member of a pair that fails a delivery."""

from coilwright.kit.access_devices import Catheter, Microcatheter
from coilwright.kit.chain import dimensions
from coilwright.kit.comparison import PAIR_RULES, Trial
from coilwright.kit.delivery_bores import Bores, Goods, Wanted, wanted_of
from coilwright.kit.delivery_ways import Ways
from coilwright.kit.device import Device
from coilwright.kit.label_values import length_of
from coilwright.kit.lengths import needed_past_hub_mm
from coilwright.kit.pair_fit import SAME_MM, PairFit
from coilwright.protocol import Protocol


class Instead:
    """The devices of one shelf, tried by numbers; the same pair fails many coils."""

    def __init__(self, ways: Ways, protocol: Protocol) -> None:
        self._ways, self._protocol = ways, protocol
        self._known: dict[tuple[str, str, str], tuple[str, ...]] = {}
        self._lumens: list[tuple[str, float | None, float | None]] | None = None
        self._bores: Bores | None = None
        self._named: dict[str, Device] = {}

    def would_do(self, pair: PairFit, good: Goods) -> tuple[str, ...]:
        """Devices of the shelf that pass in place of either member of a failing pair."""
        if pair.rule not in PAIR_RULES:
            return ()
        if pair.inner is None or pair.outer is None:
            return ()
        if pair.inner == good.id:
            return (
                self._past_hub(good)
                if pair.rule == "past-hub"
                else self._wide_enough(good, wanted_of(good, self._protocol))
            )
        key = pair.rule, pair.inner, pair.outer
        if key not in self._known:
            self._known[key] = self._like(*key)
        return self._known[key]

    def _wide_enough(self, good: Goods, wanted: Wanted) -> tuple[str, ...]:
        lumens = self._lumens_for(good)
        if self._bores is None:
            self._bores = Bores([bore_mm for _, bore_mm, _ in lumens])
        return tuple(lumens[place][0] for place in self._bores.passed_by(wanted))

    def _past_hub(self, good: Goods) -> tuple[str, ...]:
        length_mm = length_of(good).mm
        if length_mm is None:
            return ()
        return tuple(
            device_id
            for device_id, _, needed_mm in self._lumens_for(good)
            if needed_mm is not None and length_mm - needed_mm >= -SAME_MM
        )

    def _lumens_for(self, good: Goods) -> list[tuple[str, float | None, float | None]]:
        """Catheters, and microcatheters that one takes: bore, and length with what stays out."""
        if self._lumens is None:
            kit = self._ways.usable
            taken = {dimensions(m) for m in self._ways.lumens if isinstance(m, Microcatheter)}
            micros = (m for m in kit.microcatheters if dimensions(m) in taken)
            lumens: list[Catheter | Microcatheter] = [*kit.catheters, *micros]
            self._lumens = [
                (lumen.id, lumen.bore_mm, needed_past_hub_mm(good, lumen, self._protocol))
                for lumen in lumens
            ]
        return self._lumens

    def _like(self, rule: str, inner_id: str, outer_id: str) -> tuple[str, ...]:
        if not self._named:
            self._named = {device.id: device for device in self._ways.usable}
        inner, outer = self._named[inner_id], self._named[outer_id]
        trial = Trial(self._protocol)
        passes = trial.past_hub if rule == "past-hub" else trial.through
        return (
            *(d.id for d in self._others(outer) if passes(inner, d).passes),
            *(d.id for d in self._others(inner) if passes(d, outer).passes),
        )

    def _others(self, device: Device) -> list[Device]:
        others = self._named.values()
        return [d for d in others if type(d) is type(device) and d.id != device.id]
