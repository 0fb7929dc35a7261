"""The room: what the whole job's entries add up to. Screens, report and audit read this alone."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from coilwright.record.room_closing import SignOutCounted
from coilwright.record.room_troubles import ComplicationGraded
from coilwright.record.settled import Line, Loose
from coilwright.record.shelf import CaseUse


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomTotals:
    """Sums of what is recorded as given, and what the machine last showed.

    0 means that nothing is recorded, not that nothing was given. ``sclerosant_ml`` is all that was
    injected, gas and foam included; ``sclerosant_liquid_ml`` the liquid alone, ready-made foam left
    out. ``contrast_in_runs_ml`` is what the runs say was injected for them: it is not part of
    ``contrast_ml``, and where it is more, contrast was not booked. The dose figures are null where
    the latest dose record does not state them.
    """

    contrast_ml: float
    contrast_in_runs_ml: float
    iodine_g: float
    lidocaine_mg: float
    other_anaesthetics_mg: tuple[tuple[str, float], ...]
    sedatives_mg: tuple[tuple[str, float], ...]
    nitrate_mg: float
    sclerosant_ml: float
    sclerosant_liquid_ml: float
    kap_gy_cm2: float | None
    reference_air_kerma_gy: float | None
    fluoroscopy_min: float | None
    frames: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceTotals:
    """Packs of all devices of the case."""

    opened: int
    implanted: int
    wasted: int
    returned: int

    @property
    def unaccounted(self) -> int:
        """Opened less what ended; below 0, ends of packs never opened.

        0 in sum does not clear the case: each batch by itself must come to 0.
        """
        return self.opened - self.implanted - self.wasted - self.returned


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    """One coil as it lies now; ``level`` is where it was placed, ``moves`` where it went since.

    ``placed_at`` is null where only the day is known.
    """

    entry: UUID
    level: str
    device: str
    lot: str | None
    serial: str | None
    udi: str | None
    placed_at: datetime | None
    moves: tuple[str, ...] = ()
    retrieved_at: datetime | None = None
    retrieved: bool = False

    @property
    def lies_at(self) -> str:
        """Where it lies, or lay until it was retrieved."""
        return self.moves[-1] if self.moves else self.level


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One trouble; ``how`` is how it ended, null while it is open."""

    entry: UUID
    what: str
    seen_at: datetime
    how: str | None = None
    settled_at: datetime | None = None

    @property
    def open(self) -> bool:
        return self.how is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The case as it was worked, folded from its entries.

    ``timeline`` holds every fact in the order in which it happened, withdrawn ones too, each with
    its corrections. ``devices`` are in the order of their packs. ``coils_changed_at`` is when a
    coil was last placed, moved or retrieved; null where no coil lies in place, or where the instant
    of any of these is not known. ``loose`` are entries that name what is not there.
    """

    stream: str | None
    totals: RoomTotals
    devices: tuple[CaseUse, ...]
    device_totals: DeviceTotals
    coils: tuple[Coil, ...]
    coils_changed_at: datetime | None
    troubles: tuple[Trouble, ...]
    complications: tuple[ComplicationGraded, ...]
    sign_out: SignOutCounted | None
    timeline: tuple[Line, ...]
    loose: tuple[Loose, ...]

    @property
    def coils_in_place(self) -> tuple[Coil, ...]:
        """Coils that were placed and not retrieved."""
        return tuple(coil for coil in self.coils if not coil.retrieved)

    @property
    def open_troubles(self) -> tuple[Trouble, ...]:
        """Troubles that nobody has settled."""
        return tuple(trouble for trouble in self.troubles if trouble.open)
