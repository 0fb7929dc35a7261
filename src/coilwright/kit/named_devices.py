"""Devices of a kit by their id or their name."""

from collections.abc import Sequence
from difflib import get_close_matches

from coilwright.errors import InputError
from coilwright.kit.chain import CHAIN_ORDER, has_width
from coilwright.kit.device import Device
from coilwright.kit.kit import Kit


class DeviceNotNamed(InputError):
    """A word that names no device of the kit, or not exactly one, or one that nothing fits."""

    def __init__(self, word: str, found: str, mend: str) -> None:
        self.word, self.found, self.mend = word, found, mend
        super().__init__(word, found, mend)

    def __str__(self) -> str:
        return f"DEVICE {self.word}: {self.found}; {self.mend}."


def devices_named(words: Sequence[str], kit: Kit) -> tuple[Device, ...]:
    """The devices that the words name, by id or by name, upper and lower case alike.

    Raises
    ------
    DeviceNotNamed
        A word names none or several, one device is named twice, fewer than two are named, or one
        of them is a liquid that goes through anything.
    """
    devices = tuple(_named(word, kit) for word in words)
    for word, device in zip(words, devices, strict=True):
        if devices.count(device) > 1:
            raise DeviceNotNamed(word, "named twice", "name each device once")
        if not has_width(device):
            kinds = ", ".join(kind.__name__.lower() for kind in CHAIN_ORDER)
            raise DeviceNotNamed(word, "a liquid, which has no width", f"name a {kinds}")
    if len(devices) < 2:
        raise DeviceNotNamed(" ".join(words), "nothing to compare it with", "name two or more")
    return devices


def _named(word: str, kit: Kit) -> Device:
    wanted = word.strip().lower()
    by_id = [device for device in kit if device.id.lower() == wanted]
    found = by_id or [device for device in kit if device.name.lower() == wanted]
    if len(found) > 1:
        ids = ", ".join(device.id for device in found[:5])
        raise DeviceNotNamed(word, f"{len(found)} devices are called so", f"name it by id: {ids}")
    if not found:
        raise DeviceNotNamed(word, "not in the kit", _nearest(wanted, kit))
    return found[0]


def _nearest(wanted: str, kit: Kit) -> str:
    ids = {device.id.lower(): device.id for device in kit}
    ids |= {device.name.lower(): device.id for device in kit}
    near = get_close_matches(wanted, ids, n=3)
    if near:
        return f"perhaps {' or '.join(dict.fromkeys(ids[name] for name in near))} is meant"
    return "name a device by its id or its name in the kit"
