"""Whether one device passes through the bore of another, by their labels."""

import math

from coilwright.kit.coil import Coil
from coilwright.kit.device import Device
from coilwright.kit.label_values import bore_of, silent, width_of
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
from coilwright.protocol import Basis, Limit, Protocol
from coilwright.units import inch_to_mm


def measure_through(inner: Device, outer: Device, protocol: Protocol) -> Measured:
    """The number part of ``pass_through``."""
    width_mm, bore_mm = width_of(inner, outer).mm, bore_of(outer, inner).mm
    if width_mm is None or bore_mm is None:
        return UNREAD
    if isinstance(inner, Coil):
        return _measure_coil(inner, bore_mm, protocol)
    margin_mm = bore_mm - width_mm
    if margin_mm < -SAME_MM:
        return Measured(FitVerdict.DOES_NOT_PASS, margin_mm)
    if isinstance(inner, Plug) and inner.needs_lumen_max_inch is not None:
        spare_mm = inch_to_mm(inner.needs_lumen_max_inch) - bore_mm
        if spare_mm < -SAME_MM:
            return Measured(FitVerdict.MAY_FOLD, spare_mm)
    return Measured(FitVerdict.PASSES, margin_mm)


def bore_range_mm(good: Coil | Plug, protocol: Protocol) -> tuple[float | None, float]:
    """The narrowest (null: not labelled) and the widest bore (infinite: any) that ``good`` takes.

    The number part of ``pass_through`` passes exactly the bores between the two.
    """
    if isinstance(good, Coil):
        return _least_mm(good), _most_mm(good, protocol)
    low, high = good.needs_lumen_min_inch, good.needs_lumen_max_inch
    return (
        None if low is None else inch_to_mm(low),
        math.inf if high is None else inch_to_mm(high),
    )


def pass_through(inner: Device, outer: Device, protocol: Protocol) -> PairFit:
    """Whether ``inner`` passes through the bore of ``outer``; see ``label_values`` for sources.

    A label that is silent gives ``not-labelled`` with what to read off, never a guess.
    """
    width, bore = width_of(inner, outer), bore_of(outer, inner)
    rule = "coil" if isinstance(inner, Coil) else "through"
    if width.mm is None or bore.mm is None:
        return cannot_be_told(rule, inner, outer, silent((inner, width), (outer, bore)))
    verdict, margin_mm = measure_through(inner, outer, protocol)
    basis: Basis = LABELS
    if isinstance(inner, Coil):
        text = _coil_words(inner, outer, bore.mm, protocol)
        if verdict is not FitVerdict.DOES_NOT_PASS and inner.needs_lumen_max_inch is None:
            basis = _fold(protocol)
    else:
        pair = f"{inner.name} ({width.mm:.3f} mm)", f"{outer.name} ({bore.mm:.3f} mm)"
        text = _words(pair, verdict, -(margin_mm or 0.0))
    return compared(rule, verdict, inner, outer, margin_mm=margin_mm, text=text, basis=basis)


def _words(pair: tuple[str, str], verdict: FitVerdict, over_mm: float) -> str:
    if verdict is FitVerdict.DOES_NOT_PASS:
        return f"{pair[0]} does not pass {pair[1]}: {over_mm:.3f} mm too wide"
    if verdict is FitVerdict.MAY_FOLD:
        return f"{pair[0]} in {pair[1]}: {over_mm:.3f} mm wider than its label allows"
    return f"{pair[0]} passes {pair[1]}"


def _measure_coil(coil: Coil, bore_mm: float, protocol: Protocol) -> Measured:
    """Too wide does not pass, too narrow may fold: by the label, else by the local limit."""
    margin_mm = bore_mm - _least_mm(coil)
    if margin_mm < -SAME_MM:
        return Measured(FitVerdict.DOES_NOT_PASS, margin_mm)
    most_mm = _most_mm(coil, protocol)
    if bore_mm > most_mm + SAME_MM:
        return Measured(FitVerdict.MAY_FOLD, most_mm - bore_mm)
    return Measured(FitVerdict.PASSES, margin_mm)


def _coil_words(coil: Coil, outer: Device, bore_mm: float, protocol: Protocol) -> str:
    pair = f"{coil.name} ({coil.wire_diameter_inch:.3f} in wire) in {outer.name} ({bore_mm:.3f} mm)"
    verdict, margin_mm = _measure_coil(coil, bore_mm, protocol)
    over_mm = -(margin_mm or 0.0)
    if verdict is FitVerdict.DOES_NOT_PASS:
        return f"{pair}: does not pass, {over_mm:.3f} mm too wide (needs {_least_mm(coil):.3f} mm)"
    if verdict is FitVerdict.PASSES:
        return f"{pair}: passes"
    double = ""
    if bore_mm >= 2 * inch_to_mm(coil.wire_diameter_inch):
        double = " (it can lie double)"
    return (
        f"{pair}: may fold or jam{double}, the lumen is {over_mm:.3f} mm wider than "
        f"{_most_mm(coil, protocol):.3f} mm"
    )


def _least_mm(coil: Coil) -> float:
    """The narrowest lumen that takes the coil: its wind, or the wider one that its label names."""
    low = coil.needs_lumen_min_inch
    return max(inch_to_mm(coil.wire_diameter_inch), inch_to_mm(low) if low is not None else 0.0)


def _most_mm(coil: Coil, protocol: Protocol) -> float:
    """The widest lumen in which the coil does not fold."""
    if coil.needs_lumen_max_inch is not None:
        return inch_to_mm(coil.needs_lumen_max_inch)
    return inch_to_mm(coil.wire_diameter_inch) * _fold(protocol).value


def _fold(protocol: Protocol) -> Limit:
    return protocol.limit("coil-fold-lumen-ratio")
