"""The way to the vein on a pull-list: what the first choices come by, and its back-ups."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from coilwright.advice import Status
from coilwright.kit import (
    Catheter,
    Coil,
    CoilDelivery,
    Device,
    Microcatheter,
    PairFit,
    Sheath,
    Wire,
    delivery_ways,
)
from coilwright.kit.chain import dimensions
from coilwright.kit.lengths import measure_past_hub
from coilwright.kit.pushing import measure_push
from coilwright.kit.widths import measure_through
from coilwright.planning.plan import DeviceChoice, LevelName
from coilwright.planning.pull_lines import Against, Missing, Objection, PullRole, Purpose
from coilwright.planning.pull_tray import Tray, Want, kind_of
from coilwright.protocol import COMMON_PRACTICE, Citation, Protocol

DELIVERY = Citation(
    source="the plan's delivery check: labelled dimensions compared", status=Status.COMPUTED
)
WAY_KINDS = ("needle", "wire", "sheath", "catheter")


@dataclass(frozen=True, slots=True, kw_only=True)
class WayIn:
    """The devices that bring the first choices, in the order of the chain, with their levels.

    ``catheter`` and ``sheath`` are those of the level that is placed first, null where the kit
    does not hold them; ``coils`` are the first choices.
    """

    devices: dict[str, tuple[LevelName, ...]]
    catheter: Catheter | None
    sheath: Sheath | None
    coils: tuple[Coil, ...] = ()
    not_passing: tuple[PairFit, ...] = ()
    missing: tuple[Missing, ...] = ()


def planned_way(firsts: list[tuple[LevelName, DeviceChoice]], tray: Tray) -> WayIn:
    """The chains of the plan's delivery checks; one device serves every level in turn."""
    devices: dict[str, tuple[LevelName, ...]] = {}
    for name, choice in firsts:
        for device_id in dict.fromkeys(choice.delivery.devices):
            if device_id != choice.device:
                devices[device_id] = (*devices.get(device_id, ()), name)
    found = [device for id in devices if (device := tray.devices.get(id)) is not None]
    coils = [tray.devices.get(choice.device) for _, choice in firsts]
    failing = dict.fromkeys(pair for _, choice in firsts for pair in choice.delivery.failing)
    return WayIn(
        devices=devices,
        catheter=next((d for d in found if isinstance(d, Catheter)), None),
        sheath=next((d for d in found if isinstance(d, Sheath)), None),
        coils=tuple(coil for coil in coils if isinstance(coil, Coil)),
        not_passing=tuple(failing),
        missing=tuple(
            Missing(what="way-to-the-vein", device=None, short_by=None, text=pair.text)
            for pair in failing
            if pair.inner is None
        ),
    )


def way_of_kit(tray: Tray, protocol: Protocol) -> WayIn:
    """Without a coil to bring: the way on which most pairs pass, and the kinds the shelf lacks."""
    # No microcatheter is asked for here, and none decides what the catheter comes by.
    without_micros = replace(tray.kit, microcatheters=())
    best = delivery_ways(without_micros, protocol, tray.on).fewest_failing()
    shelves = (tray.kit.needles, tray.kit.wires, tray.kit.sheaths, tray.kit.catheters)
    missing = tuple(
        Missing(what=kind, device=None, short_by=1, text=f"no {kind} on the shelf and in date")
        for kind, shelf in zip(WAY_KINDS, shelves, strict=True)
        if not tray.usable(shelf)
    )
    if best is None:
        return WayIn(devices={}, catheter=None, sheath=None, missing=missing)
    found = [tray.devices[device_id] for device_id in best.devices]
    return WayIn(
        devices=dict.fromkeys(best.devices, ()),
        catheter=best.catheter,
        sheath=next((device for device in found if isinstance(device, Sheath)), None),
        not_passing=tuple(pair for pair in best.access if not pair.passes),
        missing=missing,
    )


def ask_way(way: WayIn, tray: Tray) -> None:
    """One of each device of the way: used in turn, it serves every level."""
    for device_id, levels in way.devices.items():
        device = tray.devices.get(device_id)
        tray.ask(
            Want(
                role=PullRole.FIRST_CHOICE,
                purpose=Purpose.WAY,
                level=levels[0] if len(levels) == 1 else None,
                device=device_id,
                name=device_id if device is None else device.name,
                why=_serves(levels),
                rule="delivery-chain",
                basis=DELIVERY,
                against=objections_to(device_id, way.not_passing),
            )
        )


def objections_to(device_id: str, pairs: Iterable[PairFit]) -> tuple[Objection, ...]:
    """The pairs of this device that are not shown to pass."""
    return tuple(
        Objection(against=Against.NOT_SHOWN_TO_PASS, text=pair.text)
        for pair in pairs
        if not pair.passes and device_id in (pair.inner, pair.outer)
    )


def _serves(levels: tuple[LevelName, ...]) -> str:
    if not levels:
        return "The way to the vein as far as the kit shows it; no coil is planned yet."
    where = " and the ".join(levels)
    return f"Part of the chain that brings the coil to the {where} level; one is used in turn."


def ask_way_back_up(way: WayIn, tray: Tray, protocol: Protocol) -> None:
    """One more of each device of the way where the shelf has one, and another catheter shape."""
    for device_id in way.devices:
        device = tray.devices.get(device_id)
        other = None if device is None else _another(device, tray)
        if device is not None and other is not None:
            same = "one more" if other.id == device.id else f"the same size as {device.name}"
            tray.ask(_spare(other, Purpose.ANOTHER_ONE, f"If the first is spoilt: {same}."))
    shape = _another_shape(way, tray, protocol)
    if shape is not None and way.catheter is not None:
        why = (
            f"If the {way.catheter.tip} shape does not engage: {shape.tip} passes the same chain "
            "by its label. An exchange goes over a wire."
        )
        tray.ask(_spare(shape, Purpose.ANOTHER_SHAPE, why))


def _another(device: Device, tray: Tray) -> Device | None:
    """The same article again, else one of the same dimensions and the same tip."""
    if tray.left(device.id) > 0:
        return device
    size, tip = dimensions(device), getattr(device, "tip", None)
    alike = (
        other
        for other in tray.devices.values()
        if type(other) is type(device)
        and other.id != device.id
        and tray.left(other.id) > 0
        and getattr(other, "tip", None) == tip
        and dimensions(other) == size
    )
    return next(alike, None)


def _another_shape(way: WayIn, tray: Tray, protocol: Protocol) -> Catheter | None:
    """A catheter of another labelled tip that all pairs of the first one's chain pass."""
    first = way.catheter
    if first is None or first.tip is None:
        return None
    known: dict[tuple[object, ...], bool] = {}
    for other in tray.usable(tray.kit.catheters):
        if other.tip in (None, first.tip) or tray.left(other.id) <= 0:
            continue
        size = dimensions(other)
        if size not in known:
            known[size] = _takes_its_place(other, way, tray, protocol)
        if known[size]:
            return other
    return None


def _takes_its_place(other: Catheter, way: WayIn, tray: Tray, protocol: Protocol) -> bool:
    found = [device for id in way.devices if (device := tray.devices.get(id)) is not None]
    micros = [device for device in found if isinstance(device, Microcatheter)]
    plain = [coil for coil in way.coils if not any(_fits(coil, m, protocol) for m in micros)]
    wires = [device for device in found if isinstance(device, Wire)]
    in_sheath = way.sheath is None or goes_inside(other, way.sheath, protocol)
    return (
        in_sheath
        and all(goes_inside(micro, other, protocol) for micro in micros)
        and any(goes_inside(wire, other, protocol) for wire in wires)
        and all(carries(coil, other, wires, protocol) for coil in plain)
    )


def carries(
    coil: Coil, lumen: Catheter | Microcatheter, wires: list[Wire], protocol: Protocol
) -> bool:
    """Whether a coil runs through this lumen, pushed by its own pusher or by one of the wires."""
    if not _fits(coil, lumen, protocol):
        return False
    if coil.delivery is CoilDelivery.DETACHABLE:
        return measure_past_hub(coil, lumen, protocol).passes
    return any(
        measure_push(wire, coil, lumen).passes and goes_inside(wire, lumen, protocol)
        for wire in wires
    )


def goes_inside(inner: Device, outer: Device, protocol: Protocol) -> bool:
    """Whether it passes by its width and stands out of the hub by its length."""
    return _fits(inner, outer, protocol) and measure_past_hub(inner, outer, protocol).passes


def _fits(inner: Device, outer: Device, protocol: Protocol) -> bool:
    return measure_through(inner, outer, protocol).passes


def _spare(device: Device, purpose: Purpose, why: str) -> Want:
    return Want(
        role=PullRole.BACK_UP,
        purpose=purpose,
        device=device.id,
        name=device.name,
        why=why,
        rule=f"back-up-{kind_of(device)}",
        basis=COMMON_PRACTICE,
    )
