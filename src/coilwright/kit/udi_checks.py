"""What makes a scanned device stop for thought: its expiry, an earlier use, a recall."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from coilwright.advice import Advisory, Status, Urgency
from coilwright.kit.gtin import GTIN_DIGITS
from coilwright.kit.udi import Agency, Udi

# Identifiers of the fields that follow on the pack of a device (GS1 General Specifications 3.2).
_MAY_FOLLOW = ("10", "11", "17", "21", "240", "30")
_ENDS_ARE_KNOWN = re.compile(r"(\][A-Za-z]\d)?([({]\d|https?://)", re.IGNORECASE)
EXPIRY_RULE = "udi-expiry"
USED_RULE = "udi-used-before"
RECALLED_RULE = "udi-recalled"
_LABEL = "The pack's own label, as scanned"


@dataclass(frozen=True, slots=True, kw_only=True)
class UsedDevice:
    """A device that the record holds as opened or implanted; ``where`` names that entry."""

    di: str
    serial: str
    where: str
    lot: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Recall:
    """A recall of some lots of a device; ``lots`` None where every lot is recalled.

    ``source`` is the notice: who, title, date.
    """

    di: str
    source: str
    lots: frozenset[str] | None = None

    def __post_init__(self) -> None:
        if not self.source.strip():
            raise ValueError("a recall needs its source")
        if self.lots is not None and not self.lots:
            raise ValueError("a recall of no lot; give None where every lot is recalled")


def check_udi(
    udi: Udi, *, today: date, used: Iterable[UsedDevice], recalls: Iterable[Recall]
) -> tuple[Advisory, ...]:
    """All that stops for thought, and all that could not be told; empty where nothing is left."""
    return (*check_expiry(udi, today=today), *check_used(udi, used), *check_recalled(udi, recalls))


def check_expiry(udi: Udi, *, today: date) -> tuple[Advisory, ...]:
    """Expired, or on its last day; a month counts to its last day."""
    if udi.expiry is None:
        return (_no_expiry(udi),)
    last_day = udi.expiry.last_day
    if today < last_day:
        return ()
    if today > last_day:
        urgency, text = Urgency.STOP_AND_THINK, f"expired: its last day was {last_day}"
    elif udi.expiry.hour is None:
        urgency, text = Urgency.CAUTION, f"expires today, {last_day}, at the end of the day"
    else:
        urgency = Urgency.STOP_AND_THINK
        text = f"expires today at {udi.expiry.hour:02d} h: compare with the clock"
    return (_advisory(urgency, EXPIRY_RULE, f"This device {text}.", udi, today=str(today)),)


def check_used(udi: Udi, used: Iterable[UsedDevice]) -> tuple[Advisory, ...]:
    """The same identifier and serial number again. Without a serial number it cannot be told."""
    if udi.serial is None:
        text = (
            "Whether this very device was used before cannot be told: the scan has no serial "
            "number, or the scanner sends no group separator before it."
        )
        missing = ("serial",)
        return (_advisory(Urgency.INFO, USED_RULE, text, udi, missing=missing),)
    return tuple(
        _advisory(
            Urgency.STOP_AND_THINK,
            USED_RULE,
            _used_already(one, udi),
            udi,
        )
        for one in used
        if _same_di(one.di, udi.di)
        and (_same(one.serial, udi.serial) or _ran_on(one.serial, udi.serial, udi))
    )


def check_recalled(udi: Udi, recalls: Iterable[Recall]) -> tuple[Advisory, ...]:
    """On a recall list by identifier and lot; a recalled device without a lot may be of any."""
    found: list[Advisory] = []
    for recall in recalls:
        text = _recalled(recall, udi)
        if text is not None:
            missing = ("lot",) if recall.lots is not None and udi.lot is None else ()
            stop, source = Urgency.STOP_AND_THINK, recall.source
            found.append(_advisory(stop, RECALLED_RULE, text, udi, source=source, missing=missing))
    return tuple(found)


def _recalled(recall: Recall, udi: Udi) -> str | None:
    if not _same_di(recall.di, udi.di):
        return None
    if recall.lots is None:
        return "This device is recalled, in every lot."
    if udi.lot is None:
        return "Some lots of this device are recalled, and the scan has no lot: read the pack."
    if any(_same(lot, udi.lot) for lot in recall.lots):
        return f"Lot {udi.lot} of this device is recalled."
    if any(_ran_on(lot, udi.lot, udi) for lot in recall.lots):
        return (
            f"Lot {udi.lot} begins as a recalled lot does, and a scanner that sends no group "
            "separator runs the next field into it: read the pack."
        )
    return None


def _no_expiry(udi: Udi) -> Advisory:
    text = "The scan states no expiry: read the pack."
    if udi.best_before is not None:
        text = f"The scan states no expiry, only best before {udi.best_before}: read the pack."
    return _advisory(Urgency.CAUTION, EXPIRY_RULE, text, udi, missing=("expiry",))


def _used_already(one: UsedDevice, udi: Udi) -> str:
    if udi.serial is not None and not _same(one.serial, udi.serial):
        return (
            f"Serial number {udi.serial} begins as one that was used already does ({one.where}), "
            "and a scanner that sends no group separator runs the next field into it: read the "
            "pack."
        )
    text = f"A device with this identifier and serial number was used already: {one.where}."
    return text + _lots_differ(one, udi)


def _ran_on(known: str, scanned: str, udi: Udi) -> bool:
    """Whether ``scanned`` may be ``known`` and the next field, for want of a group separator.

    Only in a plain GS1 code, at its end, and only where a field may begin behind ``known``.
    """
    behind = scanned.strip().casefold().removeprefix(known.strip().casefold())
    if udi.agency is not Agency.GS1 or behind == scanned.strip().casefold():
        return False
    return behind.startswith(_MAY_FOLLOW) and any(
        code.rstrip(" \x1d~\r\t").endswith(scanned)
        for code in udi.raw.split("\n")  # not splitlines: that splits at the separator too
        if not _ENDS_ARE_KNOWN.match(code)
    )


def _lots_differ(one: UsedDevice, udi: Udi) -> str:
    if one.lot is None or udi.lot is None or _same(one.lot, udi.lot):
        return ""
    return f" The lots differ ({one.lot} then, {udi.lot} now)."


def _same(one: str, other: str) -> bool:
    # A list typed by hand may have lost its capitals: rather stop once too often.
    return one.strip().casefold() == other.strip().casefold()


def _same_di(one: str, other: str) -> bool:
    return _same(*(di.zfill(GTIN_DIGITS) if di.isdigit() else di for di in (one, other)))


def _advisory(
    urgency: Urgency,
    rule: str,
    text: str,
    udi: Udi,
    *,
    source: str = _LABEL,
    missing: tuple[str, ...] = (),
    today: str | None = None,
) -> Advisory:
    stated = {
        "device identifier": udi.di,
        "lot": udi.lot,
        "serial": udi.serial,
        "expiry": None if udi.expiry is None else str(udi.expiry),
        "today": today,
    }
    return Advisory(
        urgency=urgency,
        text=text,
        rule=rule,
        source=source,
        status=Status.COMPUTED,
        inputs={name: value for name, value in stated.items() if value is not None},
        missing=missing,
    )
