"""The ways to the vein in words: how long at least, how many turns, what of the kit reaches.

No way is put before another. A length is a lower bound first; what has no figure is named as what
must be measured on the table.
"""

from collections.abc import Iterable, Iterator, Sequence

from coilwright.documents.figures import capital
from coilwright.documents.page import Line, RouteCard
from coilwright.planning import OcclusionPlan
from coilwright.planning.route import (
    DeviceReach,
    LengthFrom,
    Reach,
    RouteOption,
    RouteSegment,
    RouteTarget,
    RouteToTarget,
)
from coilwright.planning.route_length import RouteLength

UNSIGNED = "by limits from memory, not signed off"
_FROM = {
    LengthFrom.TABLE: "measured on the table",
    LengthFrom.RUN: "measured on the run, projected",
    LengthFrom.PUBLISHED: "by a published figure",
    LengthFrom.NO_FIGURE: "no figure",
}
_HEADINGS = {
    Reach.REACHES: "long enough by label",
    Reach.MAY_NOT_REACH: "may be too short",
    Reach.DOES_NOT_REACH: "too short",
    Reach.CANNOT_BE_TOLD: "cannot be told",
}


def route_title(option: RouteOption) -> str:
    """Which way to which vein, both sides named."""
    return f"{capital(option.access.words)} to the {option.side} gonadal vein"


def route_cards(plan: OcclusionPlan) -> tuple[RouteCard, ...]:
    """Every way of the plan, in no order of merit."""
    return tuple(
        RouteCard(title=route_title(option), lines=route_lines(option)) for option in plan.routes
    )


def route_lines(option: RouteOption) -> tuple[Line, ...]:
    """One way in (label, text) lines: lengths, turns, what reaches, what must be measured."""
    lines: list[Line] = []
    for path in option.targets:
        lines += _path_lines(path, option.segments)
    lines.append(Line(label="Turns", text=_turns(option)))
    lines.append(Line(label="Measure on the table", text=_to_measure(option)))
    further = [item for item in option.missing if item not in _lengths_missing(option)]
    if further:
        lines.append(Line(label="Missing", text="; ".join(further)))
    return tuple(lines)


def _path_lines(path: RouteToTarget, segments: Sequence[RouteSegment]) -> Iterator[Line]:
    place = target_words(path.target)
    yield Line(label=f"Length to the {place}", text=_length(path, segments))
    yield Line(
        label=f"Catheters to the {place}",
        text=_reach(map(_device, path.catheters), path.catheters, path.needed_catheter),
    )
    micros = path.microcatheters
    yield Line(
        label=f"Microcatheters to the {place}",
        text=_reach(map(_guided, micros), micros, path.needed_microcatheter),
    )


def target_words(target: RouteTarget) -> str:
    """A target as it is spoken of."""
    return "ostium" if target is RouteTarget.OSTIUM else f"{target} level"


def at_least(length: RouteLength) -> str:
    """A length as what it is at least, and up to what where something bounds it.

    Examples
    --------
    >>> at_least(RouteLength(value_mm=412.0, low_mm=398.4, high_mm=460.2))
    'at least 398 mm, up to 461 mm with the doubt of every part'
    >>> at_least(RouteLength())
    'not known'
    """
    if length.low_mm <= 0 and length.high_mm is None:
        return "not known"
    # Rounded outwards, so that no printed bound is tighter than the computed one.
    least = f"at least {int(length.low_mm)} mm"
    if length.high_mm is None:
        return f"{least}, how much more is not known"
    return f"{least}, up to {-int(-length.high_mm // 1)} mm with the doubt of every part"


def _length(path: RouteToTarget, segments: Sequence[RouteSegment]) -> str:
    on_path = [segment for segment in segments if segment.id in path.segments]
    stands = all(segment.limit_stands for segment in on_path)
    text = at_least(path.length) + ("" if stands or not path.length.low_mm else f", {UNSIGNED}")
    groups = [text]
    for where_from, heading in _FROM.items():
        titles = [segment.title for segment in on_path if segment.where_from is where_from]
        if titles:
            groups.append(f"{heading}: {'; '.join(titles)}")
    return _sentences(groups)


def _reach(named: Iterable[str], devices: Sequence[DeviceReach], needed: RouteLength) -> str:
    if not devices:
        return "None on the shelf."
    words = list(zip(named, devices, strict=True))
    groups = []
    for verdict, heading in _HEADINGS.items():
        these = [text for text, device in words if device.verdict is verdict]
        if these:
            groups.append(f"{heading}: {'; '.join(these)}")
    groups.append(f"working length needed: {at_least(needed)}")
    if any(not device.limit_stands for device in devices):
        groups.append(f"judged {UNSIGNED}")
    return _sentences(groups)


def _sentences(groups: Sequence[str]) -> str:
    return " ".join(f"{capital(group)}." for group in groups)


def _device(device: DeviceReach) -> str:
    """Its labelled length, and what it is too short by."""
    if device.length_mm is None:
        return f"{device.name} (no length on its label)"
    named = f"{device.name} (labelled {device.length_mm / 10:g} cm"
    over_shortest_mm = device.margin_mm[1]
    if device.verdict is Reach.DOES_NOT_REACH and over_shortest_mm is not None:
        return f"{named}, by at least {-over_shortest_mm / 10:.1f} cm)"
    return f"{named})"


def _guided(micro: DeviceReach) -> str:
    """A microcatheter with what carries it, which it needs besides its length."""
    if micro.guided_by:
        return f"{_device(micro)} through {' or '.join(micro.guided_by)}"
    return f"{_device(micro)}, no catheter on the shelf is known to take it"


def _turns(option: RouteOption) -> str:
    corners = "; ".join(
        f"{corner.title} "
        f"({'angle not known' if corner.angle_deg is None else f'about {corner.angle_deg:g} deg'})"
        for corner in option.corners
    )
    text = f"{len(option.corners)} by anatomy: {corners or 'none'}"
    bends = next((p.bends for p in reversed(option.targets) if p.bends is not None), None)
    if bends is None:
        return f"{text}; those of the vein itself are not known: no run shows them"
    each = ", ".join(f"{b.angle_deg:.0f} deg at {b.from_mm:.0f} mm" for b in bends)
    return f"{text}; {len(bends)} in the vein as projected{f' ({each})' if each else ''}"


def _to_measure(option: RouteOption) -> str:
    parts = [f"{segment.title} ({segment.text})" for segment in _unknown(option)]
    return _sentences(parts) or "Nothing: every part has a length."


def _lengths_missing(option: RouteOption) -> set[str]:
    """What is said already as what must be measured: the last of each unknown segment's needs."""
    return {segment.missing[-1] for segment in _unknown(option) if segment.missing}


def _unknown(option: RouteOption) -> list[RouteSegment]:
    ids = {id for path in option.targets for id in path.unknown}
    return [segment for segment in option.segments if segment.id in ids]
