"""The end and what follows: haemostasis, the count at sign-out, discharge, follow-up, notes."""

import datetime as dt
from dataclasses import dataclass

from coilwright.record.room_preparation import ChecklistItem
from coilwright.record.stated import need_uid, need_within, need_words
from coilwright.veins import Side

HELD_MIN = (0.0, 600.0)
COUNT = (0, 999)


@dataclass(frozen=True, slots=True, kw_only=True)
class HaemostasisReached:
    """The entry into the vein no longer bleeds."""

    where: str
    method: str
    held_min: float | None = None

    def __post_init__(self) -> None:
        need_words("where", self.where)
        need_words("method", self.method)
        need_within("held_min", self.held_min, HELD_MIN)


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOutCounted:
    """What people counted in the room; the fold of the devices is what it is held against.

    ``coils_on_last_image`` are those seen on the last stored image, ``last_image`` its SOP Instance
    UID.
    """

    opened: int
    implanted: int
    wasted: int
    returned: int
    coils_on_last_image: int | None = None
    last_image: str | None = None

    def __post_init__(self) -> None:
        for field in ("opened", "implanted", "wasted", "returned", "coils_on_last_image"):
            need_within(field, getattr(self, field), COUNT)
        need_uid("last_image", self.last_image)


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientDischarged:
    """Where the patient went, by which criteria, and whether somebody was with him."""

    to: str
    criteria: tuple[ChecklistItem, ...] = ()
    accompanied: bool | None = None

    def __post_init__(self) -> None:
        need_words("to", self.to)


@dataclass(frozen=True, slots=True, kw_only=True)
class FollowedUp:
    """What a visit, a call or a test after the procedure showed.

    Ultrasound, semen and testes that were measured then are entries of their own kinds.
    """

    how: str
    found: str
    side: Side | None = None
    reflux: bool | None = None
    next_due: dt.date | None = None

    def __post_init__(self) -> None:
        need_words("how", self.how)
        need_words("found", self.found)


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteWritten:
    """Anything that no other kind of entry holds."""

    text: str

    def __post_init__(self) -> None:
        need_words("text", self.text)
