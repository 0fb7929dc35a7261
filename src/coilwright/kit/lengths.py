"""Whether a device is long enough: past the hub of another, or for an exchange over a wire."""

from coilwright.kit.access_devices import Catheter, Microcatheter, Wire
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device
from coilwright.kit.label_values import MM_PER_CM, length_of, silent
from coilwright.kit.pair_fit import LABELS, SAME_MM, FitVerdict, PairFit, cannot_be_told, compared
from coilwright.kit.plug import Plug
from coilwright.kit.snare import Snare
from coilwright.protocol import Basis, Limit, Protocol


def stand_out(inner: Device, outer: Device, protocol: Protocol) -> PairFit:
    """Whether ``inner`` is long enough to stand out of the hub of ``outer`` with its end there."""
    inner_length, outer_length = length_of(inner), length_of(outer)
    if inner_length.mm is None or outer_length.mm is None:
        missing = silent((inner, inner_length), (outer, outer_length))
        return cannot_be_told("past-hub", inner, outer, missing)
    basis = _handling(inner, protocol)
    spare_mm = basis.value * MM_PER_CM if isinstance(basis, Limit) else 0.0
    needed_mm = outer_length.mm + spare_mm
    margin_mm = inner_length.mm - needed_mm
    named = f"{inner.name} ({inner_length.mm / MM_PER_CM:g} cm)"
    verdict = FitVerdict.PASSES
    text = f"{named} is long enough for {outer.name} ({outer_length.mm / MM_PER_CM:g} cm)"
    if margin_mm < -SAME_MM:
        verdict = FitVerdict.TOO_SHORT
        text = (
            f"{named} is {-margin_mm / MM_PER_CM:g} cm too short for {outer.name}: "
            f"{needed_mm / MM_PER_CM:g} cm needed"
        )
    return compared("past-hub", verdict, inner, outer, margin_mm=margin_mm, text=text, basis=basis)


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
    handling = protocol.limit("wire-past-hub")
    in_body_mm = tube_length.mm if in_body_cm is None else in_body_cm * MM_PER_CM
    needed_mm = tube_length.mm + in_body_mm + handling.value * MM_PER_CM
    margin_mm = wire_length.mm - needed_mm
    how = "in to its hub" if in_body_cm is None else f"{in_body_cm:g} cm in the body"
    short = margin_mm < -SAME_MM
    verdict = FitVerdict.TOO_SHORT if short else FitVerdict.PASSES
    word = f"is {-margin_mm / MM_PER_CM:g} cm too short" if short else "is long enough"
    text = (
        f"{wire.name} ({wire_length.mm / MM_PER_CM:g} cm) {word} to exchange {tube.name} over it, "
        f"{how}: {needed_mm / MM_PER_CM:g} cm needed"
    )
    return compared("exchange", verdict, wire, tube, margin_mm=margin_mm, text=text, basis=handling)


def _handling(inner: Device, protocol: Protocol) -> Basis:
    """What must stand out of the hub; a catheter has only to be longer than its sheath."""
    match inner:
        case Wire() | Coil() | Plug() | Snare():
            return protocol.limit("wire-past-hub")
        case Microcatheter():
            return protocol.limit("microcatheter-past-hub")
    return LABELS
