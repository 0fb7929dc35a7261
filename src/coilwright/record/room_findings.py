"""What was seen: the radiologist's findings, spasm, and the Valsalva that was held."""

from dataclasses import dataclass

from coilwright.record.stated import need_uid, need_within, need_words
from coilwright.veins import Side

CALIBRE_MM = (0.1, 60.0)
HELD_S = (0.0, 120.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingMade:
    """A finding in the radiologist's own words; ``run`` is the SOP Instance UID it stands on."""

    found: str
    where: str | None = None
    side: Side | None = None
    run: str | None = None

    def __post_init__(self) -> None:
        need_words("found", self.found)
        need_words("where", self.where)
        need_uid("run", self.run)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpasmSeen:
    """A narrowing taken for spasm; ``calibre_mm`` is that of the narrowed vein, not its relaxed.

    ``whole_trunk`` is null where nobody has said whether a normal neighbour is left.
    """

    where: str
    whole_trunk: bool | None = None
    calibre_mm: float | None = None
    run: str | None = None

    def __post_init__(self) -> None:
        need_words("where", self.where)
        need_within("calibre_mm", self.calibre_mm, CALIBRE_MM)
        need_uid("run", self.run)


@dataclass(frozen=True, slots=True, kw_only=True)
class ValsalvaHeld:
    """The patient held a Valsalva; it says nothing about reflux, a finding does.

    ``sustained`` is false where he let go before the end of the injection.
    """

    held_s: float | None = None
    sustained: bool | None = None
    run: str | None = None

    def __post_init__(self) -> None:
        need_within("held_s", self.held_s, HELD_S)
        need_uid("run", self.run)
