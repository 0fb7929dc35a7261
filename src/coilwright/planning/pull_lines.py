"""The pull-list as values: its lines, what stands against each, and what is not there."""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from coilwright.advice import DISCLAIMER, Advisory, Status
from coilwright.kit import PairFit
from coilwright.planning.plan import LevelName


class PullRole(StrEnum):
    """Why the tray would be asked for it."""

    FIRST_CHOICE = "first-choice"
    BACK_UP = "back-up"
    RESCUE = "rescue"


class Purpose(StrEnum):
    """What a line is for."""

    COIL = "coil"
    SECOND_COIL = "second-coil"
    WAY = "way-to-the-vein"
    SCLEROSANT = "sclerosant"
    ANOTHER_SIZE = "another-size"
    ANOTHER_ONE = "another-one"
    ANOTHER_SHAPE = "another-shape"
    MICROCATHETER = "microcatheter"
    MICRO_WIRE = "wire-of-microcatheter"
    MICRO_COIL = "coil-of-microcatheter"
    SNARE = "snare"
    SNARE_CATHETER = "catheter-of-snare"
    CAPTURE_SHEATH = "sheath-of-captured-coil"
    EXCHANGE_WIRE = "wire-of-exchange"


class Against(StrEnum):
    """What can stand against a line."""

    NOT_IN_KIT = "not-in-kit"
    NOT_ON_SHELF = "not-on-shelf"
    EXPIRED = "expired"
    EXPIRES_BEFORE = "expires-before-the-day"
    EXPIRY_NOT_STATED = "expiry-not-stated"
    FEWER_THAN_NEEDED = "fewer-than-needed"
    NOT_SHOWN_TO_PASS = "not-shown-to-pass"


@dataclass(frozen=True, slots=True, kw_only=True)
class Objection:
    """One thing that stands against a line, in words."""

    against: Against
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PullLine:
    """One device to lay out, for one purpose.

    ``level`` is null for what serves the whole case. ``needed`` is for this line alone,
    ``needed_in_all`` for every line of the same device: the shelf has to hold that sum.
    ``shelf_count``, ``lot`` and ``expiry`` are those of the shelf on the day; ``kind`` is the word
    of the trade (``coil``), null where the kit does not hold the device.
    """

    role: PullRole
    purpose: Purpose
    level: LevelName | None
    device: str
    name: str
    kind: str | None
    needed: int
    needed_in_all: int
    shelf_count: int
    lot: str | None
    expiry: date | None
    against: tuple[Objection, ...]
    why: str
    rule: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """What the plan needs that is not there.

    ``what`` is stable: a device's id, a kind, or the need's name. ``device`` is its id if it is a
    known device, ``short_by`` how many are short, null where no number can be told.
    """

    what: str
    device: str | None
    short_by: int | None
    text: str


class RescueVerdict(StrEnum):
    """Whether a captured coil could be brought out with what is on the shelf."""

    THERE = "there"
    CANNOT_BE_TOLD = "cannot-be-told"
    NOT_THERE = "not-there"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rescue:
    """The snare, what it runs through, the sheath for its catch, and the wire to change to that.

    Each is a device id, null where the shelf has none that does; ``wire`` is null also where no
    exchange is needed. ``sheath_in_place`` is null where no sheath is planned. ``larger_sheath``
    tells that the sheath in place is too small, null where that cannot be told.
    """

    verdict: RescueVerdict
    snare: str | None
    through: str | None
    sheath: str | None
    sheath_in_place: str | None
    larger_sheath: bool | None
    wire: str | None
    pairs: tuple[PairFit, ...]
    missing: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PullList:
    """What to lay out for a plan.

    ``on`` is the day of the procedure, null where expiry was not judged. ``no_coils_because`` says
    why the list brings no coil at all, and is empty where it brings one.
    """

    on: date | None
    lines: tuple[PullLine, ...]
    missing: tuple[Missing, ...]
    no_coils_because: tuple[str, ...]
    rescue: Rescue
    advisories: tuple[Advisory, ...]
    disclaimer: str = DISCLAIMER

    def of(self, role: PullRole) -> tuple[PullLine, ...]:
        """The lines of one role, in their order."""
        return tuple(line for line in self.lines if line.role is role)
