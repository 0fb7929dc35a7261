"""One pack as labelled: what makes two packs of the shelf one batch."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from coilwright.kit import ImpossibleLabel, Udi, is_device_identifier


@dataclass(frozen=True, slots=True, kw_only=True)
class Pack:
    """What the pack states, in its own letters; null where it does not say.

    ``expiry`` is the last day on which it may be used. Packs that are equal in all four are one
    batch; capitals count, since a scan keeps them.
    """

    di: str
    lot: str | None = None
    serial: str | None = None
    expiry: date | None = None

    def __post_init__(self) -> None:
        if not _is_identifier(self.di):
            raise ImpossibleLabel("di", f"{self.di!r} is no device identifier", _mend_of(self.di))
        for name, text in (("lot", self.lot), ("serial", self.serial)):
            if text is not None:
                _check_printed(name, text)

    def __str__(self) -> str:
        stated = (("lot", self.lot), ("serial", self.serial), ("expiry", self.expiry))
        return ", ".join((self.di, *(f"{name} {text}" for name, text in stated if text)))


def pack_of(udi: Udi) -> Pack:
    """The pack that a scan names; an expiry to the month means that month's last day.

    An expiry to the hour becomes its day: whether the hour has come is for the check of the scan.
    """
    return Pack(
        di=udi.di.strip(),
        lot=_stated(udi.lot),
        serial=_stated(udi.serial),
        expiry=None if udi.expiry is None else udi.expiry.last_day,
    )


def pack_order(pack: Pack) -> tuple[str, str, str, date]:
    """Where a pack stands in a list: by identifier, lot, serial number, expiry; unstated first."""
    return (pack.di, pack.lot or "", pack.serial or "", pack.expiry or date.min)


@lru_cache(maxsize=16_384)
def _is_identifier(di: str) -> bool:
    # Kept, since many entries name one device, and a check digit is reckoned figure by figure.
    return is_device_identifier(di)


def _stated(text: str | None) -> str | None:
    return (text or "").strip() or None


def _check_printed(name: str, text: str) -> None:
    if not text or text != text.strip():
        found = "empty" if not text.strip() else f"spaces around {text.strip()!r}"
        raise ImpossibleLabel(name, found, "copy it from the pack, or leave it out")
    if not text.isprintable():
        raise ImpossibleLabel(name, f"{text!r} holds what no label prints", "scan the pack again")


def _mend_of(di: str) -> str:
    # A spreadsheet takes a GTIN for a number and drops the zeros in front.
    if di.isdigit() and is_device_identifier(di.zfill(14)):
        return f"write all fourteen figures, {di.zfill(14)}: the zeros in front were lost"
    return "scan the pack and copy its identifier: a GTIN in fourteen figures, HIBC or ISBT 128"
