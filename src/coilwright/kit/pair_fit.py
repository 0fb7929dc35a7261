"""Whether one device passes through another, or stands out of its hub: labelled values only.

Widths are compared in millimetres, gauge never. A margin is what is left over: negative where the
pair fails, by that much.
"""

from dataclasses import dataclass
from enum import StrEnum

from coilwright.advice import Status
from coilwright.kit.access_devices import Catheter, Microcatheter, Needle, Sheath, Wire
from coilwright.kit.coil import Coil
from coilwright.kit.device import Device
from coilwright.protocol import Basis, Citation, Limit, Protocol
from coilwright.units import fr_to_mm, inch_to_mm

LABELS = Citation(
    source="labelled dimensions compared; 1 F = 1/3 mm, 1 inch = 25.4 mm", status=Status.COMPUTED
)
MM_PER_CM = 10.0
# Two labels of the same printed size are the same size, whatever the last bit of a product says.
_SAME_MM = 1e-9


class FitVerdict(StrEnum):
    """What comparing two labels says."""

    PASSES = "passes"
    DOES_NOT_PASS = "does-not-pass"
    MAY_FOLD = "may-fold"
    TOO_SHORT = "too-short"
    NOT_LABELLED = "not-labelled"
    NOT_IN_KIT = "not-in-kit"


@dataclass(frozen=True, slots=True, kw_only=True)
class PairFit:
    """One pair compared: ``inner`` in or behind ``outer`` (device ids, null if the kit has none).

    ``margin_mm`` is what is left over, negative by how much it fails, null where a label is
    silent. ``limit_stands`` is false where the verdict rests on a limit from memory that the site
    has not signed off: then a pass is not shown as a satisfied limit.
    """

    rule: str
    verdict: FitVerdict
    inner: str | None
    outer: str | None
    margin_mm: float | None
    text: str
    source: str
    status: Status
    limit_stands: bool = True

    @property
    def passes(self) -> bool:
        """True for the one verdict that lets the pair be used."""
        return self.verdict is FitVerdict.PASSES


def pass_through(inner: Device, outer: Device, protocol: Protocol) -> PairFit:
    """Whether ``inner`` passes through the bore of ``outer``, by their labels.

    References
    ----------
    CLINICAL.md section 7: catheter F is outer, sheath F is the largest catheter it accepts; a
    needle is judged by its labelled bore. REVIEW.md 9: coil wire against the labelled lumen, a
    microcatheter's widest shaft against the guide's.
    """
    width_mm, bore_mm = _width_mm(inner), _bore_mm(outer, inner)
    if bore_mm is None:
        text = f"{outer.name}: the label gives no bore, so {inner.name} cannot be judged"
        return _pair("through", FitVerdict.NOT_LABELLED, inner, outer, margin_mm=None, text=text)
    if isinstance(inner, Coil):
        return _coil_in_lumen(inner, outer, bore_mm, protocol)
    margin_mm = bore_mm - width_mm
    if margin_mm < -_SAME_MM:
        text = (
            f"{inner.name} ({width_mm:.3f} mm) does not pass {outer.name} ({bore_mm:.3f} mm): "
            f"{-margin_mm:.3f} mm too wide"
        )
        return _pair(
            "through", FitVerdict.DOES_NOT_PASS, inner, outer, margin_mm=margin_mm, text=text
        )
    text = f"{inner.name} ({width_mm:.3f} mm) passes {outer.name} ({bore_mm:.3f} mm)"
    return _pair("through", FitVerdict.PASSES, inner, outer, margin_mm=margin_mm, text=text)


def stand_out(inner: Device, outer: Device, protocol: Protocol) -> PairFit:
    """Whether ``inner`` is long enough to stand out of the hub of ``outer`` with its end there."""
    inner_cm, outer_cm = _length_cm(inner), _length_cm(outer)
    basis = _handling(inner, protocol)
    if inner_cm is None or outer_cm is None:
        text = f"{inner.name} behind {outer.name}: a length is not labelled"
        return _pair(
            "past-hub",
            FitVerdict.NOT_LABELLED,
            inner,
            outer,
            margin_mm=None,
            text=text,
            basis=basis,
        )
    needed_cm = outer_cm + (basis.value if isinstance(basis, Limit) else 0.0)
    margin_mm = (inner_cm - needed_cm) * MM_PER_CM
    if margin_mm < -_SAME_MM:
        text = (
            f"{inner.name} ({inner_cm:g} cm) is {-margin_mm / MM_PER_CM:g} cm too short for "
            f"{outer.name}: {needed_cm:g} cm needed"
        )
        return _pair(
            "past-hub",
            FitVerdict.TOO_SHORT,
            inner,
            outer,
            margin_mm=margin_mm,
            text=text,
            basis=basis,
        )
    text = f"{inner.name} ({inner_cm:g} cm) is long enough for {outer.name} ({outer_cm:g} cm)"
    return _pair(
        "past-hub", FitVerdict.PASSES, inner, outer, margin_mm=margin_mm, text=text, basis=basis
    )


def push_behind(pusher: Wire, coil: Coil, lumen: Catheter | Microcatheter) -> PairFit:
    """Whether a pusher stays behind the coil: side by side the two must not fit the lumen."""
    both_mm = inch_to_mm(pusher.wire_inch) + inch_to_mm(coil.wire_diameter_inch)
    margin_mm = both_mm - inch_to_mm(lumen.lumen_inch)
    if margin_mm <= _SAME_MM:
        text = f"{pusher.name} can slip past {coil.name} in {lumen.name} and wedge beside it"
        return _pair("pusher", FitVerdict.MAY_FOLD, pusher, coil, margin_mm=margin_mm, text=text)
    text = f"{pusher.name} stays behind {coil.name} in {lumen.name}"
    return _pair("pusher", FitVerdict.PASSES, pusher, coil, margin_mm=margin_mm, text=text)


def not_in_kit(rule: str, what: str) -> PairFit:
    """The pair that cannot be compared because the kit holds none of one kind."""
    text = f"no {what} in the kit that is on the shelf and in date: not checked"
    return _pair(rule, FitVerdict.NOT_IN_KIT, None, None, margin_mm=None, text=text)


def _coil_in_lumen(coil: Coil, outer: Device, bore_mm: float, protocol: Protocol) -> PairFit:
    wire_mm = inch_to_mm(coil.wire_diameter_inch)
    low, high = coil.needs_lumen_min_inch, coil.needs_lumen_max_inch
    least_mm = max(wire_mm, inch_to_mm(low) if low is not None else 0.0)
    margin_mm = bore_mm - least_mm
    pair = f"{coil.name} ({coil.wire_diameter_inch:.3f} in wire) in {outer.name} ({bore_mm:.3f} mm)"
    if margin_mm < -_SAME_MM:
        text = f"{pair}: does not pass, {-margin_mm:.3f} mm too wide (needs {least_mm:.3f} mm)"
        return _pair("coil", FitVerdict.DOES_NOT_PASS, coil, outer, margin_mm=margin_mm, text=text)
    fold = protocol.limit("coil-fold-lumen-ratio")
    basis: Basis = LABELS if high is not None else fold
    most_mm = inch_to_mm(high) if high is not None else wire_mm * fold.value
    if bore_mm > most_mm + _SAME_MM:
        double = " (it can lie double)" if bore_mm >= 2 * wire_mm else ""
        text = (
            f"{pair}: may fold or jam{double}, the lumen is {bore_mm - most_mm:.3f} mm wider than "
            f"{most_mm:.3f} mm"
        )
        return _pair(
            "coil",
            FitVerdict.MAY_FOLD,
            coil,
            outer,
            margin_mm=most_mm - bore_mm,
            text=text,
            basis=basis,
        )
    return _pair(
        "coil",
        FitVerdict.PASSES,
        coil,
        outer,
        margin_mm=margin_mm,
        text=f"{pair}: passes",
        basis=basis,
    )


def _width_mm(inner: Device) -> float:
    match inner:
        case Wire():
            return inch_to_mm(inner.wire_inch)
        case Coil():
            return inch_to_mm(inner.wire_diameter_inch)
        case Catheter() | Microcatheter():
            return fr_to_mm(inner.outer_fr)
    raise TypeError(f"{type(inner).__name__} does not go through anything")


def _bore_mm(outer: Device, inner: Device) -> float | None:
    match outer:
        case Needle():
            return outer.bore_mm
        case Sheath() if isinstance(inner, Wire):
            return inch_to_mm(outer.accepts_wire_inch)
        case Sheath():
            return fr_to_mm(outer.accepts_fr)
        case Catheter() | Microcatheter():
            return inch_to_mm(outer.lumen_inch)
    raise TypeError(f"nothing goes through {type(outer).__name__}")


def _length_cm(device: Device) -> float | None:
    match device:
        case Coil():
            return device.pusher_length_cm
        case Wire() | Sheath() | Catheter() | Microcatheter():
            return device.length_cm
    raise TypeError(f"the length of {type(device).__name__} does not matter here")


def _handling(inner: Device, protocol: Protocol) -> Basis:
    """What must stand out of the hub; a catheter has only to be longer than its sheath."""
    match inner:
        case Wire() | Coil():
            return protocol.limit("wire-past-hub")
        case Microcatheter():
            return protocol.limit("microcatheter-past-hub")
    return LABELS


def _pair(
    rule: str,
    verdict: FitVerdict,
    inner: Device | None,
    outer: Device | None,
    *,
    margin_mm: float | None,
    text: str,
    basis: Basis = LABELS,
) -> PairFit:
    stands = isinstance(basis, Citation) or basis.stands
    caution = "" if stands else " (by a limit from memory, not signed off)"
    return PairFit(
        rule=rule,
        verdict=verdict,
        inner=None if inner is None else inner.id,
        outer=None if outer is None else outer.id,
        margin_mm=margin_mm,
        text=text + caution,
        source=basis.source,
        status=basis.status,
        limit_stands=stands,
    )
