"""Whether a device is long enough: past the hub of another, or for an exchange over a wire."""

from coilwright.kit.access_devices import Catheter, Microcatheter, Wire
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device
from coilwright.kit.label_values import MM_PER_CM, length_of, silent
from coilwright.kit.pair_fit import (
    LABELS,
    SAME_MM,
    UNREAD,
    FitVerdict,
    Measured,
    PairFit,
    cannot_be_told,
    compared,
)
from coilwright.kit.plug import Plug
from coilwright.kit.snare import Snare
from coilwright.protocol import Basis, Limit, Protocol


def measure_past_hub(inner: Device, outer: Device, protocol: Protocol) -> Measured:
    """The number part of ``stand_out``."""
    length_mm, outer_mm = length_of(inner).mm, length_of(outer).mm
    if length_mm is None or outer_mm is None:
        return UNREAD
    return _reach(length_mm, _past_hub_mm(outer_mm, _handling(inner, protocol)))


def needed_past_hub_mm(inner: Device, outer: Device, protocol: Protocol) -> float | None:
    """The length from which any device of ``inner``'s kind stands out of the hub of ``outer``."""
    outer_mm = length_of(outer).mm
    return None if outer_mm is None else _past_hub_mm(outer_mm, _handling(inner, protocol))


def stand_out(inner: Device, outer: Device, protocol: Protocol) -> PairFit:
    """Whether ``inner`` is long enough to stand out of the hub of ``outer`` with its end there."""
    inner_length, outer_length = length_of(inner), length_of(outer)
    if inner_length.mm is None or outer_length.mm is None:
        missing = silent((inner, inner_length), (outer, outer_length))
        return cannot_be_told("past-hub", inner, outer, missing)
    basis = _handling(inner, protocol)
    needed_mm = _past_hub_mm(outer_length.mm, basis)
    verdict, margin_mm = measure_past_hub(inner, outer, protocol)
    named = f"{inner.name} ({inner_length.mm / MM_PER_CM:g} cm)"
    text = f"{named} is long enough for {outer.name} ({outer_length.mm / MM_PER_CM:g} cm)"
    if verdict is FitVerdict.TOO_SHORT:
        text = (
            f"{named} is {-(margin_mm or 0.0) / MM_PER_CM:g} cm too short for {outer.name}: "
            f"{needed_mm / MM_PER_CM:g} cm needed"
        )
    return compared("past-hub", verdict, inner, outer, margin_mm=margin_mm, text=text, basis=basis)


def measure_exchange(
    wire: Wire,
    tube: Catheter | Microcatheter,
    protocol: Protocol,
    *,
    in_body_cm: float | None = None,
) -> Measured:
    """The number part of ``exchange_over``."""
    wire_mm, tube_mm = length_of(wire).mm, length_of(tube).mm
    if wire_mm is None or tube_mm is None:
        return UNREAD
    return _reach(wire_mm, _exchange_mm(tube_mm, in_body_cm, _past_hub(protocol)))


def exchange_over(
    wire: Wire,
    tube: Catheter | Microcatheter,
    protocol: Protocol,
    *,
    in_body_cm: float | None = None,
) -> PairFit:
    """Whether ``tube`` comes off over ``wire`` with the wire's tip left where it is.

    ``in_body_cm`` is the length from skin to tip; null: the tube lies in to its hub, the most
    that it can need.

    References
    ----------
    Wire length >= catheter length + length in the body + handling: from memory (CLINICAL.md
    section 7); handling is the local limit ``wire-past-hub``.
    """
    wire_length, tube_length = length_of(wire), length_of(tube)
    if wire_length.mm is None or tube_length.mm is None:
        missing = silent((wire, wire_length), (tube, tube_length))
        return cannot_be_told("exchange", wire, tube, missing)
    handling = _past_hub(protocol)
    needed_mm = _exchange_mm(tube_length.mm, in_body_cm, handling)
    verdict, margin_mm = measure_exchange(wire, tube, protocol, in_body_cm=in_body_cm)
    how = "in to its hub" if in_body_cm is None else f"{in_body_cm:g} cm in the body"
    word = "is long enough"
    if verdict is FitVerdict.TOO_SHORT:
        word = f"is {-(margin_mm or 0.0) / MM_PER_CM:g} cm too short"
    text = (
        f"{wire.name} ({wire_length.mm / MM_PER_CM:g} cm) {word} to exchange {tube.name} over it, "
        f"{how}: {needed_mm / MM_PER_CM:g} cm needed"
    )
    return compared("exchange", verdict, wire, tube, margin_mm=margin_mm, text=text, basis=handling)


def _reach(length_mm: float, needed_mm: float) -> Measured:
    margin_mm = length_mm - needed_mm
    short = margin_mm < -SAME_MM
    return Measured(FitVerdict.TOO_SHORT if short else FitVerdict.PASSES, margin_mm)


def _past_hub_mm(outer_mm: float, handling: Basis) -> float:
    return outer_mm + (handling.value * MM_PER_CM if isinstance(handling, Limit) else 0.0)


def _exchange_mm(tube_mm: float, in_body_cm: float | None, handling: Limit) -> float:
    in_body_mm = tube_mm if in_body_cm is None else in_body_cm * MM_PER_CM
    return tube_mm + in_body_mm + handling.value * MM_PER_CM


def _past_hub(protocol: Protocol) -> Limit:
    return protocol.limit("wire-past-hub")


def _handling(inner: Device, protocol: Protocol) -> Basis:
    """What must stand out of the hub; a catheter has only to be longer than its sheath."""
    match inner:
        case Wire() | Coil() | Plug() | Snare():
            return _past_hub(protocol)
        case Microcatheter():
            return protocol.limit("microcatheter-past-hub")
    return LABELS
