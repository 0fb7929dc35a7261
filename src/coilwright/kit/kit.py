"""The kit: everything that a case can draw on, as labelled."""

from collections.abc import Iterator
from dataclasses import dataclass, fields

from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.adhesive import Adhesive
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device, ImpossibleLabel
from coilwright.kit.plug import Plug
from coilwright.kit.sclerosant import Sclerosant
from coilwright.kit.snare import Snare


@dataclass(frozen=True, slots=True, kw_only=True)
class Kit:
    """A catalogue with shelf counts; every id stands once."""

    needles: tuple[Needle, ...] = ()
    wires: tuple[Wire, ...] = ()
    sheaths: tuple[Sheath, ...] = ()
    catheters: tuple[Catheter, ...] = ()
    microcatheters: tuple[Microcatheter, ...] = ()
    coils: tuple[Coil, ...] = ()
    plugs: tuple[Plug, ...] = ()
    sclerosants: tuple[Sclerosant, ...] = ()
    adhesives: tuple[Adhesive, ...] = ()
    snares: tuple[Snare, ...] = ()

    def __post_init__(self) -> None:
        seen: set[str] = set()
        for device in self:
            if device.id in seen:
                raise ImpossibleLabel("id", f"{device.id} stands twice", "give each its own id")
            seen.add(device.id)

    def __iter__(self) -> Iterator[Device]:
        for field in fields(self):
            yield from getattr(self, field.name)

    def device(self, device_id: str) -> Device:
        """The device with this id; KeyError if there is none."""
        for device in self:
            if device.id == device_id:
                return device
        raise KeyError(device_id)


KINDS: dict[str, type[Device]] = {
    "needles": Needle,
    "wires": Wire,
    "sheaths": Sheath,
    "catheters": Catheter,
    "microcatheters": Microcatheter,
    "coils": Coil,
    "plugs": Plug,
    "sclerosants": Sclerosant,
    "adhesives": Adhesive,
    "snares": Snare,
}
