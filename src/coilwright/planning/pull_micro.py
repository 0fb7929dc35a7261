"""The back-up microcatheter where the first choice has none, and what it carries."""

from coilwright.kit import Coil, Microcatheter, Wire
from coilwright.kit.chain import dimensions
from coilwright.kit.widths import measure_through
from coilwright.planning.plan import DeviceChoice, LevelName
from coilwright.planning.pull_leads import Leads
from coilwright.planning.pull_lines import PullRole, Purpose
from coilwright.planning.pull_tray import Tray, Want
from coilwright.planning.pull_way import WayIn, carries, goes_inside
from coilwright.protocol import COMMON_PRACTICE, Protocol

Led = tuple[Microcatheter, Wire]


def ask_microcatheter(
    plain: list[tuple[LevelName, tuple[DeviceChoice, ...]]],
    way: WayIn,
    tray: Tray,
    protocol: Protocol,
) -> None:
    """Ask for what reaches on where the catheter does not: microcatheter, wire, and coils.

    ``plain`` are the levels whose first choice runs through the catheter alone, with their
    choices in the plan's order.
    """
    micros = _Micros(_inside(way, tray, protocol), tray, protocol)
    carried = [found for name, choices in plain if (found := _carried(name, choices, micros, tray))]
    first = micros.first_led()
    chosen = carried or ([] if first is None else [first])
    for micro, wire in dict.fromkeys(chosen):
        _ask_pair(micro, wire, tray, carries_coil=bool(carried))


class _Micros:
    """The microcatheters that can be used, each with the widest wire that leads it."""

    def __init__(self, micros: list[Microcatheter], tray: Tray, protocol: Protocol) -> None:
        self._micros, self._protocol = micros, protocol
        self._leads = Leads(tray.one_per_size(tray.kit.wires), protocol)
        self._known: dict[tuple[object, ...], Led | None] = {}

    def first_led(self) -> Led | None:
        """The first that a wire of the shelf leads."""
        led = ((micro, self._leads.widest(micro)) for micro in self._micros)
        return next(((micro, wire) for micro, wire in led if wire is not None), None)

    def first_carrying(self, coil: Coil) -> Led | None:
        """The first that carries this coil, pushed by the wire that leads; once for each size."""
        size = dimensions(coil)
        if size not in self._known:
            self._known[size] = next(
                (
                    (micro, wire)
                    for micro in self._micros
                    if measure_through(coil, micro, self._protocol).passes
                    and (wire := self._leads.widest(micro)) is not None
                    and carries(coil, micro, [wire], self._protocol)
                ),
                None,
            )
        return self._known[size]


def _inside(way: WayIn, tray: Tray, protocol: Protocol) -> list[Microcatheter]:
    """The microcatheters, one of each size, that the first choice's catheter takes."""
    guide = way.catheter
    if guide is None:
        return []
    sizes = tray.one_per_size(tray.kit.microcatheters)
    return [micro for micro in sizes if goes_inside(micro, guide, protocol)]


def _carried(
    name: LevelName, choices: tuple[DeviceChoice, ...], micros: _Micros, tray: Tray
) -> Led | None:
    """Ask for the first advised coil that runs through one of them, and say which that is."""
    for choice in choices:
        coil = tray.devices.get(choice.device)
        if not choice.advised or not isinstance(coil, Coil) or tray.left(coil.id) <= 0:
            continue
        led = micros.first_carrying(coil)
        if led is not None:
            _ask_coil(name, coil, led[0], tray)
            return led
    return None


def _ask_coil(name: LevelName, coil: Coil, micro: Microcatheter, tray: Tray) -> None:
    tray.ask(
        Want(
            role=PullRole.BACK_UP,
            purpose=Purpose.MICRO_COIL,
            level=name,
            device=coil.id,
            name=coil.name,
            why=f"Advised at the {name} level, and runs through {micro.name}.",
            rule="back-up-microcatheter",
            basis=COMMON_PRACTICE,
        )
    )


def _ask_pair(micro: Microcatheter, wire: Wire, tray: Tray, *, carries_coil: bool) -> None:
    carried = "" if carries_coil else " No coil that is advised here and left over runs through it."
    why = f"If the catheter does not reach: passes it, led by {wire.name}.{carried}"
    pairs = ((micro, Purpose.MICROCATHETER, why), (wire, Purpose.MICRO_WIRE, f"Leads {micro.name}"))
    for device, purpose, words in pairs:
        if not tray.listed(device.id):
            tray.ask(
                Want(
                    role=PullRole.BACK_UP,
                    purpose=purpose,
                    device=device.id,
                    name=device.name,
                    why=words if words.endswith(".") else f"{words}, and pushes what runs in it.",
                    rule="back-up-microcatheter",
                    basis=COMMON_PRACTICE,
                )
            )
