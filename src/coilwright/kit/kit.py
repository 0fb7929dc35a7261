"""The kit: everything that a case can draw on, as labelled."""

from collections.abc import Iterator
from dataclasses import dataclass

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device, ImpossibleLabel
from coilwright.kit.sclerosant import Sclerosant


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """A catalogue with shelf counts; every id stands once."""

    needles: tuple[Needle, ...] = ()
    wires: tuple[Wire, ...] = ()
    sheaths: tuple[Sheath, ...] = ()
    catheters: tuple[Catheter, ...] = ()
    microcatheters: tuple[Microcatheter, ...] = ()
    coils: tuple[Coil, ...] = ()
    sclerosants: tuple[Sclerosant, ...] = ()

    def __post_init__(self) -> None:
        seen: set[str] = set()
        for device in self:
            if device.id in seen:
                raise ImpossibleLabel("id", f"{device.id} stands twice", "give each its own id")
            seen.add(device.id)

    def __iter__(self) -> Iterator[Device]:
        yield from self.needles
        yield from self.wires
        yield from self.sheaths
        yield from self.catheters
        yield from self.microcatheters
        yield from self.coils
        yield from self.sclerosants

    def device(self, device_id: str) -> Device:
        """The device with this id; KeyError if there is none."""
        for device in self:
            if device.id == device_id:
                return device
        raise KeyError(device_id)
