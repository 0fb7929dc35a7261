"""The way in: where the vein was entered, and where the catheter lies."""

import math
from dataclasses import dataclass

from coilwright.record.stated import ImpossibleFact, need_uid, need_within, need_words
from coilwright.veins import Side

SHEATH_FR = (1.0, 30.0)
ATTEMPTS = (1, 50)


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessGained:
    """The vein that was entered; ``guidance`` says by what it was seen."""

    vein: str
    side: Side | None = None
    sheath_fr: float | None = None
    guidance: str | None = None
    attempts: int | None = None

    def __post_init__(self) -> None:
        need_words("vein", self.vein)
        need_words("guidance", self.guidance)
        need_within("sheath_fr", self.sheath_fr, SHEATH_FR)
        need_within("attempts", self.attempts, ATTEMPTS)


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterPositioned:
    """Where the catheter's tip lies, in words and, where it was marked, on a run.

    ``run`` is the SOP Instance UID, ``tip_px`` (x, y) in its raw frame; ``catheter`` is the id in
    the kit.
    """

    vessel: str
    level: str | None = None
    catheter: str | None = None
    run: str | None = None
    tip_px: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        need_words("vessel", self.vessel)
        need_words("level", self.level)
        need_words("catheter", self.catheter)
        need_uid("run", self.run)
        if self.tip_px is not None and self.run is None:
            raise ImpossibleFact("tip_px", "stated without run", "name the run it was marked on")
        if self.tip_px is not None and not all(map(math.isfinite, self.tip_px)):
            raise ImpossibleFact("tip_px", "not a point", "mark the tip again")
