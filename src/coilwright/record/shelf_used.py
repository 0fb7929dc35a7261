"""The devices that a new scan may not name again."""

from coilwright.kit import UsedDevice
from coilwright.record.shelf import CaseUse, Shelf


def used_devices(shelf: Shelf) -> tuple[UsedDevice, ...]:
    """Everything with a serial number that a case opened or implanted and did not give back."""
    return tuple(
        UsedDevice(di=use.pack.di, serial=use.pack.serial, lot=use.pack.lot, where=_where(use))
        for use in shelf.case_uses
        if use.pack.serial is not None and (use.implanted or use.opened > use.returned)
    )


def _where(use: CaseUse) -> str:
    word, at = ("opened", use.opened_at)
    if use.implanted_at is not None:
        word, at = ("implanted", use.implanted_at)
    return f"{word} in case {use.case}" + ("" if at is None else f", {at:%Y-%m-%d %H:%M %Z}")
