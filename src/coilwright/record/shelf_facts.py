"""What can happen to the shelf, each in the past tense, valid once built."""

from dataclasses import dataclass
from uuid import UUID

from coilwright.kit import ImpossibleLabel
from coilwright.record.shelf_pack import Pack

# A sanity bound: more at one go is a code that was scanned into the field of the number.
MOST_AT_ONCE = 9_999


class ImpossibleShelfFact(ImpossibleLabel):
    """A fact of the shelf that cannot be so; names the field, what was found, the mend."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Despite:
    """What stopped for thought and was gone over: the rules' ids, and the reason given."""

    reason: str
    rules: tuple[str, ...]

    def __post_init__(self) -> None:
        _check_said("despite.reason", self.reason)
        if not self.rules or not all(rule.strip() for rule in self.rules):
            raise ImpossibleShelfFact("despite.rules", "empty", "name the rules that stopped")


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceReceived:
    """Put on the shelf. ``scan`` is what the scanner sent, null where it was typed."""

    pack: Pack
    count: int
    scan: str | None = None
    despite: Despite | None = None

    def __post_init__(self) -> None:
        _check_count(self.pack, self.count)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceOpened:
    """Taken off the shelf for a case."""

    pack: Pack
    count: int
    case: str

    def __post_init__(self) -> None:
        _check_count(self.pack, self.count)
        _check_said("case", self.case)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceImplanted:
    """Left in the patient; it was opened before."""

    pack: Pack
    count: int
    case: str

    def __post_init__(self) -> None:
        _check_count(self.pack, self.count)
        _check_said("case", self.case)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceWasted:
    """Used up or thrown away: in a case after it was opened, or (no case) off the shelf."""

    pack: Pack
    count: int
    reason: str
    case: str | None = None

    def __post_init__(self) -> None:
        _check_count(self.pack, self.count)
        _check_said("reason", self.reason)
        if self.case is not None:
            _check_said("case", self.case)


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceReturned:
    """Taken out for a case, not used, and back on the shelf."""

    pack: Pack
    count: int
    case: str

    def __post_init__(self) -> None:
        _check_count(self.pack, self.count)
        _check_said("case", self.case)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfCounted:
    """So many were found on the shelf when somebody counted."""

    pack: Pack
    count: int

    def __post_init__(self) -> None:
        _check_count(self.pack, self.count, least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShelfAdjusted:
    """More (or, below 0, fewer) than was booked, for a reason that no other fact covers."""

    pack: Pack
    change: int
    reason: str

    def __post_init__(self) -> None:
        if self.change == 0:
            raise ImpossibleShelfFact("change", "0 changes nothing", "say how many more or fewer")
        _check_count(self.pack, abs(self.change), field="change")
        _check_said("reason", self.reason)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReorderLevelSet:
    """The count of usable packs at which this device is to be ordered."""

    di: str
    level: int

    def __post_init__(self) -> None:
        Pack(di=self.di)
        _check_range("level", self.level, least=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryWithdrawn:
    """An entry that is not so; it stays in the record and no longer counts."""

    entry: UUID
    why: str

    def __post_init__(self) -> None:
        _check_said("why", self.why)


PackFact = (
    DeviceReceived
    | DeviceOpened
    | DeviceImplanted
    | DeviceWasted
    | DeviceReturned
    | ShelfCounted
    | ShelfAdjusted
)
ShelfFact = PackFact | ReorderLevelSet | EntryWithdrawn


def _check_count(pack: Pack, count: int, *, least: int = 1, field: str = "count") -> None:
    _check_range(field, count, least=least)
    if pack.serial is not None and count > 1:
        found = f"{count} packs with one serial number"
        raise ImpossibleShelfFact(field, found, "enter each serial number by itself")


def _check_range(field: str, count: int, *, least: int) -> None:
    if not least <= count <= MOST_AT_ONCE:
        mend = f"give a whole number from {least} to {MOST_AT_ONCE}"
        raise ImpossibleShelfFact(field, f"{count} is not possible", mend)


def _check_said(field: str, text: str) -> None:
    if not text.strip():
        raise ImpossibleShelfFact(field, "empty", "say it in words")
