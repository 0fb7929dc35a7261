"""What else can be done where the vein is not cannulated, and what of it the shelf serves.

Nothing is ordered by merit: the order is the site's own, and what the kit is known not to serve now
is named last. What cannot be told keeps its place: nothing moves up for want of a label.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from coilwright.kit import Adhesive, Catheter, Kit, Microcatheter
from coilwright.kit.label_values import length_of
from coilwright.kit.lengths import measure_past_hub
from coilwright.kit.pair_fit import Measured
from coilwright.kit.widths import measure_through
from coilwright.planning.route import Access, Reach, RouteOption, RouteTarget
from coilwright.protocol import Protocol

MM3_PER_ML = 1000.0


class NextOptionKind(StrEnum):
    """The options that a site may think of next."""

    OTHER_SHAPE = "other-shape"
    OTHER_ACCESS = "other-access"
    MICROCATHETER = "microcatheter"
    BALLOON = "balloon"
    LIQUID_ADHESIVE = "liquid-adhesive"
    SURGERY = "surgery"


@dataclass(frozen=True, slots=True, kw_only=True)
class NextOption:
    """One option: ``served`` null where the kit file cannot tell, ``devices`` what serves it.

    ``place`` is its place in the site's order, ``place_stands`` false where that is unsigned.
    """

    kind: NextOptionKind
    place: int
    place_stands: bool
    served: bool | None
    devices: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """What has been tried: device ids, the access, and every way that was worked out."""

    tried: Sequence[str] = ()
    access: Access | None = None
    ways: Sequence[RouteOption] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class _Served:
    served: bool | None
    devices: tuple[str, ...]
    text: str


def next_options(
    kit: Kit, protocol: Protocol, attempt: Attempt, on: date | None
) -> tuple[NextOption, ...]:
    """The site's options in its order, those that the shelf is known not to serve last."""
    options = []
    for kind in NextOptionKind:
        place = protocol.limit(f"next-option-{kind}")
        if place.value <= 0:
            continue
        found = _SERVING[kind](kit, protocol, attempt, on)
        options.append(
            NextOption(
                kind=kind,
                place=round(place.value),
                place_stands=place.stands,
                served=found.served,
                devices=found.devices,
                text=found.text,
            )
        )
    return tuple(sorted(options, key=lambda option: (option.served is False, option.place)))


def dead_space_ml(tube: Catheter | Microcatheter) -> float | None:
    """Volume of the lumen by its label, hub not included; null where a label is silent.

    Examples
    --------
    A lumen of 1 mm and 100 cm: pi/4 x 1 x 1000 mm3.

    >>> tube = Catheter(id="a", name="a", read_at="a label", shelf_count=1,
    ...                 lumen_mm=1.0, length_cm=100)
    >>> round(dead_space_ml(tube), 4)
    0.7854
    """
    bore_mm, length_mm = tube.bore_mm, length_of(tube).mm
    if bore_mm is None or length_mm is None:
        return None
    return math.pi / 4 * bore_mm**2 * length_mm / MM3_PER_ML


def _other_shape(kit: Kit, protocol: Protocol, attempt: Attempt, on: date | None) -> _Served:  # noqa: ARG001  # one shape
    """Another shape is only another where the one that was tried is known."""
    tried = [device for device in kit.catheters if device.id in attempt.tried]
    tried_tips = {device.tip for device in tried}
    others = [d for d in kit.catheters if d.usable(on) and d.id not in attempt.tried]
    found = [d for d in others if d.tip is not None and d.tip not in tried_tips]
    unread = [d.name for d in [*tried, *others] if d.tip is None]
    text = f"another catheter shape: {_names(found)}"
    if not tried:
        text += " (which shape was tried is not stated)"
    if unread:
        text += f"; read the shape off the label of {', '.join(unread)}"
    told = bool(tried) and None not in tried_tips
    served = _whether(found, unread) if told or not others else None
    return _Served(served=served, devices=_ids(found), text=text)


def _other_access(kit: Kit, protocol: Protocol, attempt: Attempt, on: date | None) -> _Served:  # noqa: ARG001  # one shape
    """Another access is served where a catheter is long enough for the ostium from there."""
    ways = [way for way in attempt.ways if way.access is not attempt.access]
    reaching: dict[str, list[str]] = {}
    may = False
    for way in ways:
        path = way.to(RouteTarget.OSTIUM)
        devices = [] if path is None else list(path.catheters)
        reaching[way.access.words] = [d.device for d in devices if d.verdict is Reach.REACHES]
        may = may or any(d.verdict in (Reach.CANNOT_BE_TOLD, Reach.MAY_NOT_REACH) for d in devices)
    named = [f"{words}: {', '.join(ids)}" for words, ids in reaching.items() if ids]
    devices_found = tuple(dict.fromkeys(id for ids in reaching.values() for id in ids))
    text = "another access (arm, groin or neck): "
    if named:
        text += "; ".join(named)
    else:
        text += "no catheter is known to be long enough" + ("" if ways else ", no way worked out")
    if attempt.access is None:
        text += " (which access was tried is not stated)"
    unknown = None if may or not ways else False
    return _Served(served=True if named else unknown, devices=devices_found, text=text)


def _microcatheter(kit: Kit, protocol: Protocol, attempt: Attempt, on: date | None) -> _Served:
    found = [d for d in _carried(kit, protocol, on) if d.id not in attempt.tried]
    unread = [d for d in _perhaps_carried(kit, protocol, on) if d.id not in attempt.tried]
    text = f"a microcatheter through a catheter that takes it: {_names(found)}"
    if unread:
        text += f"; cannot be told of {_names(unread)}: a label is silent"
    return _Served(served=_whether(found, unread), devices=_ids(found), text=text)


def _balloon(kit: Kit, protocol: Protocol, attempt: Attempt, on: date | None) -> _Served:  # noqa: ARG001  # one shape
    text = "a balloon: a kit file has no balloons, so this cannot be told: look on the shelf"
    return _Served(served=None, devices=(), text=text)


def _liquid_adhesive(kit: Kit, protocol: Protocol, attempt: Attempt, on: date | None) -> _Served:  # noqa: ARG001  # one shape
    vials = [device for device in kit.adhesives if device.usable(on)]
    low = protocol.limit("adhesive-oil-parts-low")
    high = protocol.limit("adhesive-oil-parts-high")
    unsigned = "" if low.stands and high.stands else ", from memory, not signed off"
    ratio = f"1 : {low.value:g} to 1 : {high.value:g} adhesive to oil{unsigned}"
    carried = _carried(kit, protocol, on)
    unread = _perhaps_carried(kit, protocol, on)
    spaces = [_dead_space_words(tube) for tube in carried]
    text = (
        f"liquid adhesive: {', '.join(map(_vial_words, vials)) or 'none on the shelf'}; "
        f"mix ratio {ratio}; "
        "dead space, hub not included: "
        f"{', '.join(spaces) or 'no microcatheter that a catheter on the shelf is known to take'}"
    )
    return _Served(
        served=_whether(carried, unread) if vials else False,
        devices=(*_ids(vials), *_ids(carried)) if vials else (),
        text=text,
    )


def _surgery(kit: Kit, protocol: Protocol, attempt: Attempt, on: date | None) -> _Served:  # noqa: ARG001  # one shape
    return _Served(served=None, devices=(), text="surgery: no question of the kit")


_SERVING: dict[NextOptionKind, Callable[[Kit, Protocol, Attempt, date | None], _Served]] = {
    NextOptionKind.OTHER_SHAPE: _other_shape,
    NextOptionKind.OTHER_ACCESS: _other_access,
    NextOptionKind.MICROCATHETER: _microcatheter,
    NextOptionKind.BALLOON: _balloon,
    NextOptionKind.LIQUID_ADHESIVE: _liquid_adhesive,
    NextOptionKind.SURGERY: _surgery,
}


def _carried(kit: Kit, protocol: Protocol, on: date | None) -> list[Microcatheter]:
    """Microcatheters on the shelf that some catheter on the shelf takes and is short enough for."""
    return [
        micro
        for micro in kit.microcatheters
        if micro.usable(on)
        and any(all(p.passes for p in pair) for pair in _pairs(micro, kit, protocol, on))
    ]


def _perhaps_carried(kit: Kit, protocol: Protocol, on: date | None) -> list[Microcatheter]:
    """Those of which a silent label leaves that open: no pair passes and one does not fail."""
    known = {micro.id for micro in _carried(kit, protocol, on)}
    return [
        micro
        for micro in kit.microcatheters
        if micro.usable(on)
        and micro.id not in known
        and any(not any(p.fails for p in pair) for pair in _pairs(micro, kit, protocol, on))
    ]


def _pairs(
    micro: Microcatheter, kit: Kit, protocol: Protocol, on: date | None
) -> Iterator[tuple[Measured, Measured]]:
    """Width and length of a microcatheter in every catheter on the shelf, without words."""
    for guide in kit.catheters:
        if guide.usable(on):
            yield measure_through(micro, guide, protocol), measure_past_hub(micro, guide, protocol)


def _vial_words(vial: Adhesive) -> str:
    if vial.mixed_with is None:
        return f"{vial.name} (read off its label what it is mixed with)"
    return f"{vial.name} (mixed with {vial.mixed_with} by its label)"


def _dead_space_words(tube: Microcatheter) -> str:
    space_ml = dead_space_ml(tube)
    known = "read lumen and length off its label" if space_ml is None else f"{space_ml:.2f} mL"
    return f"{tube.name} {known}"


def _whether(found: Sequence[object], unread: Sequence[object]) -> bool | None:
    if found:
        return True
    return None if unread else False


def _names(devices: Sequence[Catheter | Microcatheter | Adhesive]) -> str:
    return ", ".join(device.name for device in devices) or "none on the shelf"


def _ids(devices: Sequence[Catheter | Microcatheter | Adhesive]) -> tuple[str, ...]:
    return tuple(device.id for device in devices)
