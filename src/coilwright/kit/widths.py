"""Whether one device passes through the bore of another, by their labels."""

from coilwright.kit.coil import Coil
from coilwright.kit.device import Device
from coilwright.kit.label_values import bore_of, silent, width_of
from coilwright.kit.pair_fit import LABELS, SAME_MM, FitVerdict, PairFit, cannot_be_told, compared
from coilwright.kit.plug import Plug
from coilwright.protocol import Basis, Protocol
from coilwright.units import inch_to_mm


def pass_through(inner: Device, outer: Device, protocol: Protocol) -> PairFit:
    """Whether ``inner`` passes through the bore of ``outer``; see ``label_values`` for sources.

    A label that is silent gives ``not-labelled`` with what to read off, never a guess.
    """
    width, bore = width_of(inner, outer), bore_of(outer, inner)
    rule = "coil" if isinstance(inner, Coil) else "through"
    if width.mm is None or bore.mm is None:
        return cannot_be_told(rule, inner, outer, silent((inner, width), (outer, bore)))
    if isinstance(inner, Coil):
        return _coil_in_lumen(inner, outer, bore.mm, protocol)
    margin_mm = bore.mm - width.mm
    pair = f"{inner.name} ({width.mm:.3f} mm)", f"{outer.name} ({bore.mm:.3f} mm)"
    if margin_mm < -SAME_MM:
        text = f"{pair[0]} does not pass {pair[1]}: {-margin_mm:.3f} mm too wide"
        return compared(
            rule, FitVerdict.DOES_NOT_PASS, inner, outer, margin_mm=margin_mm, text=text
        )
    if isinstance(inner, Plug) and inner.needs_lumen_max_inch is not None:
        spare_mm = inch_to_mm(inner.needs_lumen_max_inch) - bore.mm
        if spare_mm < -SAME_MM:
            text = f"{pair[0]} in {pair[1]}: {-spare_mm:.3f} mm wider than its label allows"
            return compared(rule, FitVerdict.MAY_FOLD, inner, outer, margin_mm=spare_mm, text=text)
    text = f"{pair[0]} passes {pair[1]}"
    return compared(rule, FitVerdict.PASSES, inner, outer, margin_mm=margin_mm, text=text)


def _coil_in_lumen(coil: Coil, outer: Device, bore_mm: float, protocol: Protocol) -> PairFit:
    """Too wide does not pass, too narrow may fold: by the label, else by the local limit."""
    wire_mm = inch_to_mm(coil.wire_diameter_inch)
    low, high = coil.needs_lumen_min_inch, coil.needs_lumen_max_inch
    least_mm = max(wire_mm, inch_to_mm(low) if low is not None else 0.0)
    margin_mm = bore_mm - least_mm
    pair = f"{coil.name} ({coil.wire_diameter_inch:.3f} in wire) in {outer.name} ({bore_mm:.3f} mm)"
    if margin_mm < -SAME_MM:
        text = f"{pair}: does not pass, {-margin_mm:.3f} mm too wide (needs {least_mm:.3f} mm)"
        return compared(
            "coil", FitVerdict.DOES_NOT_PASS, coil, outer, margin_mm=margin_mm, text=text
        )
    fold = protocol.limit("coil-fold-lumen-ratio")
    basis: Basis = LABELS if high is not None else fold
    most_mm = inch_to_mm(high) if high is not None else wire_mm * fold.value
    verdict, text = FitVerdict.PASSES, f"{pair}: passes"
    if bore_mm > most_mm + SAME_MM:
        double = " (it can lie double)" if bore_mm >= 2 * wire_mm else ""
        verdict, margin_mm = FitVerdict.MAY_FOLD, most_mm - bore_mm
        text = (
            f"{pair}: may fold or jam{double}, the lumen is {bore_mm - most_mm:.3f} mm wider than "
            f"{most_mm:.3f} mm"
        )
    return compared("coil", verdict, coil, outer, margin_mm=margin_mm, text=text, basis=basis)
