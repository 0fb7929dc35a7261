"""What a person changes on a map, and the record of it that stays with the map.

Edits are replayed in their order. Each speaks of the map as the one before it left it: ids, arcs
and millimetres are those that a person would read off it then.
"""

from dataclasses import dataclass
from datetime import datetime

from coilwright.veins.runs import Conditions
from coilwright.veins.vessels import OwnEnd, Point, VesselKind

EditValue = str | float | bool | None | tuple[float, ...] | tuple[Point, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AppliedEdit:
    """One edit as it was made: ``said`` in words, ``values`` as the file held them.

    ``vessels`` are the ids of the vessels that it made or changed, as they were called then.
    """

    what: str
    said: str
    vessels: tuple[str, ...]
    values: dict[str, EditValue]
    by: str
    at: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Signed:
    """Who changes the map, when and why."""

    by: str
    at: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DropVessel:
    """This is no vein: take it off the map."""

    signed: Signed
    vessel: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JoinVessels:
    """``vessel`` and ``to`` are one vein, met end to end; the id of ``vessel`` stays."""

    signed: Signed
    vessel: str
    to: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SplitVessel:
    """``vessel`` ends at ``at_mm``; what lies beyond is ``new_id``, and joins it there."""

    signed: Signed
    vessel: str
    at_mm: float
    new_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AddVessel:
    """A vein drawn by hand through ``points_px`` (x, y), from its parent outwards.

    ``diameter_mm`` with its sd is a calibre that somebody states; without it the calibre is
    measured along the path where the run is at hand, else unknown. ``parent`` null where it joins
    nothing on the map.
    """

    signed: Signed
    new_id: str
    kind: VesselKind
    points_px: tuple[Point, ...]
    parent: str | None
    diameter_mm: float | None
    diameter_sd_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NameTrunk:
    """``vessel`` is the trunk; ``cranial_end`` is the end of it towards the head."""

    signed: Signed
    vessel: str
    cranial_end: OwnEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkLevel:
    """A landmark shown by a person: ``ostium``, ``internal_ring`` or ``superior_ramus_edge``."""

    signed: Signed
    landmark: str
    point_px: Point
    sd_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SetScale:
    """Millimetres per pixel as somebody knows them, with one relative standard deviation."""

    signed: Signed
    mm_per_pixel: float
    relative_sd: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StateConditions:
    """How the injection of one run (from 0) was made."""

    signed: Signed
    run: int
    conditions: Conditions


Edit = (
    DropVessel
    | JoinVessels
    | SplitVessel
    | AddVessel
    | NameTrunk
    | MarkLevel
    | SetScale
    | StateConditions
)


@dataclass(frozen=True, slots=True, kw_only=True)
class MapEdits:
    """The edits of one file, in the order in which they are replayed.

    ``sop_instance_uid`` names the map's first run, null where the file does not say.
    """

    edits: tuple[Edit, ...]
    sop_instance_uid: str | None = None


def stated_conditions(edits: MapEdits) -> dict[int, Conditions]:
    """The conditions that the edits state, by run; the last word on a run counts."""
    return {edit.run: edit.conditions for edit in edits.edits if isinstance(edit, StateConditions)}
