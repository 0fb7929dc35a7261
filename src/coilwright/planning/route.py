"""The ways to the vein: where the skin is passed, the path from there, and what reaches along it.

No way is ranked. Every length says where it comes from. What was measured on a run is projected on
the picture: the vein itself is at least that long.
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.advice import DISCLAIMER, Advisory, Status
from coilwright.planning.route_length import RouteLength
from coilwright.veins import Side


class AccessSite(StrEnum):
    """Where on the body the vein is punctured."""

    NECK = "neck"
    GROIN = "groin"
    ARM = "arm"


class Access(StrEnum):
    """The vein that is punctured, with its own side of the body."""

    RIGHT_INTERNAL_JUGULAR = "right-internal-jugular"
    LEFT_INTERNAL_JUGULAR = "left-internal-jugular"
    RIGHT_COMMON_FEMORAL = "right-common-femoral"
    LEFT_COMMON_FEMORAL = "left-common-femoral"
    RIGHT_ARM = "right-arm"
    LEFT_ARM = "left-arm"

    @property
    def site(self) -> AccessSite:
        """Neck, groin or arm."""
        if self in (Access.RIGHT_INTERNAL_JUGULAR, Access.LEFT_INTERNAL_JUGULAR):
            return AccessSite.NECK
        if self in (Access.RIGHT_COMMON_FEMORAL, Access.LEFT_COMMON_FEMORAL):
            return AccessSite.GROIN
        return AccessSite.ARM

    @property
    def own_side(self) -> Side:
        """The side that is punctured, which need not be that of the vein to close."""
        return Side.LEFT if self.value.startswith("left-") else Side.RIGHT

    @property
    def words(self) -> str:
        """How it is spoken of."""
        arm = " vein (basilic or brachial)" if self.site is AccessSite.ARM else " vein"
        return self.value.replace("-", " ") + arm


class RouteTarget(StrEnum):
    """What has to be reached."""

    OSTIUM = "ostium"
    UPPER = "upper"
    MIDDLE = "middle"
    DISTAL = "distal"


class LengthFrom(StrEnum):
    """Where a length of the route comes from."""

    TABLE = "measured-on-the-table"
    RUN = "measured-on-the-run"
    PUBLISHED = "published-figure"
    NO_FIGURE = "no-published-figure"


class Reach(StrEnum):
    """What comparing a labelled length with the needed one says."""

    REACHES = "reaches"
    MAY_NOT_REACH = "may-not-reach"
    DOES_NOT_REACH = "does-not-reach"
    CANNOT_BE_TOLD = "cannot-be-told"


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteSegment:
    """One stretch of the path; ``limit_stands`` is false where an unsigned limit went into it."""

    id: str
    title: str
    length: RouteLength
    where_from: LengthFrom
    text: str
    source: str
    status: Status
    limit_stands: bool = True
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A corner that the route has by anatomy; ``angle_deg`` null where no figure was found."""

    id: str
    title: str
    angle_deg: float | None
    text: str
    source: str
    status: Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A turn of the trunk as projected: where along it, and through how many degrees."""

    from_mm: float
    to_mm: float
    angle_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceReach:
    """Whether one device of the kit is long enough for one target.

    ``margin_mm`` is what is left over at the longest and at the shortest that the path may be
    (negative: too short by that much), null where that end, or the label, is not known.
    ``guided_by`` are the catheters that a microcatheter passes and stands out of, ``led_by`` the
    wires that lead this device, ``exchanged_over`` those over which it also comes off.
    """

    device: str
    name: str
    length_mm: float | None
    needed: RouteLength
    verdict: Reach
    margin_mm: tuple[float | None, float | None]
    text: str
    limit_stands: bool
    guided_by: tuple[str, ...] = ()
    led_by: tuple[str, ...] = ()
    exchanged_over: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteToTarget:
    """The whole path to one target and what of the kit reaches it.

    ``measured``, ``estimated`` and ``unknown`` sort the segments by what their length is worth.
    ``turns_at_least`` counts the corners by anatomy and the bends that were seen; ``bends`` and
    ``tortuosity`` (length over straight distance) are null where no run shows the vein so far.
    """

    target: RouteTarget
    segments: tuple[str, ...]
    length: RouteLength
    measured: tuple[str, ...]
    estimated: tuple[str, ...]
    unknown: tuple[str, ...]
    bends: tuple[Bend, ...] | None
    tortuosity: float | None
    turns_at_least: int
    needed_catheter: RouteLength
    needed_microcatheter: RouteLength
    catheters: tuple[DeviceReach, ...]
    microcatheters: tuple[DeviceReach, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteOption:
    """One way to the vein of one side. Options stand in no order of merit."""

    access: Access
    site: AccessSite
    side: Side
    segments: tuple[RouteSegment, ...]
    corners: tuple[Corner, ...]
    targets: tuple[RouteToTarget, ...]
    advisories: tuple[Advisory, ...]
    missing: tuple[str, ...]
    disclaimer: str = DISCLAIMER

    def to(self, target: RouteTarget) -> RouteToTarget | None:
        """The path to this target, if it is known where that lies."""
        return next((path for path in self.targets if path.target is target), None)
