"""What has to be said about each way to the vein; none is called better than another."""

from collections.abc import Iterator, Sequence

from coilwright.advice import Advisory, Status, Urgency
from coilwright.planning.route import (
    Access,
    AccessSite,
    Corner,
    DeviceReach,
    LengthFrom,
    Reach,
    RouteSegment,
    RouteTarget,
    RouteToTarget,
)
from coilwright.planning.route_neck_depth import depth_basis
from coilwright.planning.route_segments import (
    NO_FIGURE,
    ON_THE_RUN,
    ON_THE_TABLE,
)
from coilwright.protocol import Basis, Citation, Limit, Protocol, advise
from coilwright.veins import Side, VeinMap

NECK_OR_GROIN = Citation(
    source="Neck or groin access (series of 95 patients)", status=Status.PUBLISHED
)
RIGHT_VARIANT = Citation(
    source="Yang CY et al., Variations of the bilateral testicular veins (cadaver), Surg Radiol "
    "Anat 2008; how often: from memory",
    status=Status.FROM_MEMORY,
)
STATED = Citation(source="sides as stated", status=Status.COMPUTED)
_UNIT = "mm"


def advise_path(
    path: RouteToTarget, segments: Sequence[RouteSegment], access: Access, protocol: Protocol
) -> Iterator[Advisory]:
    """The working length to one target, and what its length rests on."""
    on_path = [segment for segment in segments if segment.id in path.segments]
    yield _working_length(path, on_path, access, protocol)
    if path.unknown:
        parts = "; ".join(s.title for s in on_path if s.id in path.unknown)
        yield advise(
            rule="route-length-missing",
            urgency=Urgency.CAUTION,
            text=(
                f"The path to the {_place(path.target)} is at least {path.length.low_mm / 10:.1f} "
                f"cm: no figure for {parts}. Measure with the wire or a ruler on the table."
            ),
            basis=(NO_FIGURE,),
            inputs={segment.title: segment.text for segment in on_path},
            missing=_missing(on_path),
        )
    if any(segment.where_from is LengthFrom.RUN for segment in on_path):
        yield advise(
            rule="route-length-projected",
            urgency=Urgency.INFO,
            text=(
                f"The vein down to the {_place(path.target)} was measured on the run: projected, "
                "so a lower bound. Its upper end here is an allowance."
            ),
            basis=(ON_THE_RUN, protocol.limit("projected-length-allowance")),
            judges=False,
        )


def advise_turns(
    paths: Sequence[RouteToTarget], corners: Sequence[Corner], protocol: Protocol
) -> Advisory:
    """The corners by anatomy and the bends that the run shows on the longest path."""
    least = protocol.limit("turn-angle-min")
    bends = next((path.bends for path in reversed(paths) if path.bends is not None), None)
    by_anatomy = "; ".join(f"{corner.title}: {corner.text}" for corner in corners)
    if bends is None:
        seen = "no run shows the vein: its own bends are not known"
    else:
        each = ", ".join(f"{b.angle_deg:.0f} degrees at {b.from_mm:.0f} mm" for b in bends)
        seen = f"{len(bends)} bends of {least.value:g} degrees or more on the run ({each or '-'})"
    return advise(
        rule="route-turns",
        urgency=Urgency.INFO,
        text=f"{len(corners)} corners by anatomy ({by_anatomy}); {seen}. As projected.",
        basis=(
            *(Citation(source=corner.source, status=corner.status) for corner in corners),
            least,
            protocol.limit("turn-window"),
        ),
        missing=("the vein on a run",) if bends is None else (),
        judges=False,
    )


def advise_access(access: Access, side: Side, protocol: Protocol) -> Iterator[Advisory]:
    """What was published of this access, for comparison; and of the right ostium."""
    if side is Side.RIGHT:
        yield advise(
            rule="route-right-ostium",
            urgency=Urgency.INFO,
            text=(
                "The right vein has its own ostium in the cava, below the right renal vein; in "
                "some it enters the right renal vein instead. Neither its place nor its angle "
                "has a figure here: look for both."
            ),
            basis=(RIGHT_VARIANT,),
        )
    published = {
        AccessSite.NECK: ("kap-published-jugular",),
        AccessSite.ARM: ("kap-published-brachial", "kap-published-basilic"),
        AccessSite.GROIN: (),
    }[access.site]
    limits = [protocol.limit(id) for id in published]
    means = "; ".join(f"{limit.title}: {limit.value:g} {limit.unit}" for limit in limits)
    if access.site is not AccessSite.ARM:
        between = "one series found no difference of dose between neck and groin"
        means = f"{means}; {between}" if means else between
    comparison = () if access.site is AccessSite.ARM else (NECK_OR_GROIN,)
    yield advise(
        rule="route-published-dose",
        urgency=Urgency.INFO,
        text=f"{means[0].upper()}{means[1:]}. Small series; no reason to prefer an access.",
        basis=(*limits, *comparison),
        judges=False,
    )


def advise_map(vein_map: VeinMap | None, side: Side) -> Iterator[Advisory]:
    """A map of the other side, or of no side."""
    if vein_map is not None and vein_map.side is side.other:
        yield advise(
            rule="route-side-mismatch",
            urgency=Urgency.STOP_AND_THINK,
            text=(
                f"The vein map is of the {vein_map.side} side and the way was asked for the "
                f"{side} one: nothing measured on the map was used."
            ),
            basis=(STATED,),
            inputs={"side of the map": str(vein_map.side), "side asked for": str(side)},
        )
    elif vein_map is not None and vein_map.side is None:
        yield advise(
            rule="route-side-of-map",
            urgency=Urgency.CAUTION,
            text=f"The map states no side: its lengths are taken for the {side} vein.",
            basis=(STATED,),
            missing=("side of the vein map (left or right)",),
        )


def _working_length(
    path: RouteToTarget, on_path: Sequence[RouteSegment], access: Access, protocol: Protocol
) -> Advisory:
    needed = path.needed_catheter
    between = None if needed.high_mm is None else (needed.low_mm, needed.high_mm)
    reaching = [f"catheters: {_sorted(path.catheters)}"]
    reaching.append(f"microcatheters: {_sorted(path.microcatheters)}")
    return advise(
        rule="route-working-length",
        urgency=Urgency.INFO,
        text=(
            f"To the {_place(path.target)} by the {access.words}: a catheter of "
            f"{needed.words_cm()}, a microcatheter of {path.needed_microcatheter.words_cm()}. "
            f"By their labelled length, {'; '.join(reaching)}."
        ),
        basis=_basis(on_path, access, protocol),
        value=needed.value_mm,
        between=between,
        unit=_UNIT,
        inputs={segment.title: segment.text for segment in on_path},
        missing=_missing(on_path),
    )


def _sorted(devices: Sequence[DeviceReach]) -> str:
    """Names by verdict, in the order of the kit within each."""
    groups = []
    for verdict in Reach:
        names = [device.name for device in devices if device.verdict is verdict]
        if names:
            groups.append(f"{verdict.replace('-', ' ')}: {', '.join(names)}")
    return ", ".join(groups) or "none on the shelf"


def _basis(
    on_path: Sequence[RouteSegment], access: Access, protocol: Protocol
) -> tuple[Basis, ...]:
    """Everything that the needed length rests on, so that nothing unsigned is lost."""
    found: list[Basis] = []
    for where_from in dict.fromkeys(segment.where_from for segment in on_path):
        found += _behind(where_from, access, protocol)
    outside = protocol.limit("catheter-outside-skin"), protocol.limit("microcatheter-past-hub")
    return (*found, *outside)


def _behind(where_from: LengthFrom, access: Access, protocol: Protocol) -> list[Basis]:
    def limits(*ids: str) -> list[Limit]:
        return [protocol.limit(id) for id in ids]

    match where_from:
        case LengthFrom.TABLE:
            return [ON_THE_TABLE, *limits("measured-length-error")]
        case LengthFrom.RUN:
            return [ON_THE_RUN, *limits("route-length-cover", "projected-length-allowance")]
        case LengthFrom.PUBLISHED:
            return [*depth_basis(access.own_side, protocol)]
    return [NO_FIGURE]


def _missing(on_path: Sequence[RouteSegment]) -> tuple[str, ...]:
    return tuple(item for segment in on_path for item in segment.missing)


def _place(target: RouteTarget) -> str:
    return "ostium" if target is RouteTarget.OSTIUM else f"far end of the {target} level"
