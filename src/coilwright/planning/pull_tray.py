"""What a pull-list asks of the shelf: line after line, with what is left of each device."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from coilwright.kit import Device, Kit
from coilwright.kit.chain import dimensions
from coilwright.planning.plan import LevelName
from coilwright.planning.pull_lines import (
    Against,
    Missing,
    Objection,
    PullLine,
    PullRole,
    Purpose,
)
from coilwright.protocol import Basis

D = TypeVar("D", bound=Device)


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """One line before the shelf is asked; ``counts`` false: a shortage is not called missing."""

    role: PullRole
    purpose: Purpose
    device: str
    name: str
    why: str
    rule: str
    basis: Basis
    level: LevelName | None = None
    needed: int = 1
    counts: bool = True
    against: tuple[Objection, ...] = ()


class Tray:
    """The kit on that day, and everything that has been asked of it so far."""

    def __init__(self, kit: Kit, on: date | None, pulled_on: date | None) -> None:
        self.kit, self._pulled_on = kit, pulled_on
        self.on = pulled_on if on is None else on
        self.devices: dict[str, Device] = {device.id: device for device in kit}
        self._wants: list[Want] = []
        self._asked: Counter[str] = Counter()

    def ask(self, want: Want) -> None:
        """Put one line on the list."""
        self._wants.append(want)
        self._asked[want.device] += want.needed

    def holds(self, device_id: str) -> int:
        """How many can be used on that day."""
        device = self.devices.get(device_id)
        return device.shelf_count if device is not None and device.usable(self.on) else 0

    def left(self, device_id: str) -> int:
        """How many can be used beyond what is on the list; negative where that is short."""
        return self.holds(device_id) - self._asked[device_id]

    def listed(self, device_id: str) -> bool:
        """Whether it is on the list and the shelf holds it."""
        return self._asked[device_id] > 0 and self.holds(device_id) > 0

    def usable(self, shelf: Iterable[D]) -> list[D]:
        """Those of a shelf that can be used on that day."""
        return [device for device in shelf if device.usable(self.on)]

    def one_per_size(self, shelf: Iterable[D]) -> list[D]:
        """The first usable device of each size, what is listed first: the others fit alike."""
        usable = sorted(self.usable(shelf), key=lambda d: not self.listed(d.id))
        first: dict[tuple[object, ...], D] = {}
        for device in usable:
            first.setdefault(dimensions(device), device)
        return list(first.values())

    def lines(self) -> tuple[PullLine, ...]:
        """Every line, with what stands against it; a device's count adds up over its lines."""
        return tuple(self._line(want) for want in self._wants)

    def shortages(self) -> tuple[Missing, ...]:
        """Every device of which the shelf holds fewer than its lines need together."""
        short = {w.device: w for w in self._wants if self.left(w.device) < 0}
        return tuple(
            self._shortage(want)
            for want in short.values()
            if want.counts or self.holds(want.device) == 0
        )

    def _line(self, want: Want) -> PullLine:
        device = self.devices.get(want.device)
        in_all = self._asked[want.device]
        return PullLine(
            role=want.role,
            purpose=want.purpose,
            level=want.level,
            device=want.device,
            name=want.name,
            kind=None if device is None else kind_of(device),
            needed=want.needed,
            needed_in_all=in_all,
            shelf_count=0 if device is None else device.shelf_count,
            lot=None if device is None else device.lot,
            expiry=None if device is None else device.expiry,
            against=(*self._against(want, device), *want.against),
            why=want.why,
            rule=want.rule,
            source=want.basis.source,
            status=want.basis.status,
        )

    def _against(self, want: Want, device: Device | None) -> list[Objection]:
        if device is None:
            return [Objection(against=Against.NOT_IN_KIT, text="the kit does not list it")]
        found = [*self._of_shelf(device), *self._of_expiry(device)]
        in_all = self._asked[device.id]
        if 0 < device.shelf_count < in_all:
            text = f"{in_all} needed in all, {device.shelf_count} on the shelf"
            if not want.counts:
                text += "; the figure is no dose"
            found.append(Objection(against=Against.FEWER_THAN_NEEDED, text=text))
        return found

    def _of_shelf(self, device: Device) -> Sequence[Objection]:
        none = Objection(against=Against.NOT_ON_SHELF, text="none on the shelf")
        return () if device.shelf_count else (none,)

    def _of_expiry(self, device: Device) -> Sequence[Objection]:
        if device.expiry is None:
            text = "no expiry is stated: look at the pack"
            return (Objection(against=Against.EXPIRY_NOT_STATED, text=text),)
        if self._pulled_on is not None and device.expired(self._pulled_on):
            return (Objection(against=Against.EXPIRED, text=f"expired on {device.expiry}"),)
        if self.on is not None and device.expired(self.on):
            text = f"expires on {device.expiry}, before {self.on}"
            return (Objection(against=Against.EXPIRES_BEFORE, text=text),)
        return ()

    def _shortage(self, want: Want) -> Missing:
        device = self.devices.get(want.device)
        needed, holds = self._asked[want.device], self.holds(want.device)
        there = f"{holds} on the shelf"
        if device is None:
            there = "the kit does not list it"
        elif device.shelf_count and not holds:
            there = f"{device.shelf_count} on the shelf, past their date ({device.expiry})"
        return Missing(
            what=want.device,
            device=want.device,
            short_by=needed - holds,
            text=f"{want.name}: {needed} needed ({self._for(want.device)}), {there}",
        )

    def _for(self, device_id: str) -> str:
        wants = (want for want in self._wants if want.device == device_id)
        return ", ".join(dict.fromkeys(_for_what(want) for want in wants))


def kind_of(device: Device) -> str:
    """The word of the trade for the kind of a device."""
    return type(device).__name__.lower()


def _for_what(want: Want) -> str:
    where = "" if want.level is None else f" at the {want.level} level"
    return f"{want.needed} {want.role}: {want.purpose.replace('-', ' ')}{where}"
