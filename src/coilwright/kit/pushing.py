"""A wire that pushes a coil: whether it stays behind it, and which of its ends goes in."""

from coilwright.kit.access_devices import Catheter, Microcatheter, Sheath, Wire, WireEnd
from coilwright.kit.coil import Coil
from coilwright.kit.label_values import bore_of, silent, width_of
from coilwright.kit.pair_fit import (
    SAME_MM,
    UNREAD,
    FitVerdict,
    Measured,
    PairFit,
    cannot_be_told,
    compared,
)
from coilwright.protocol import COMMON_PRACTICE

Lumen = Sheath | Catheter | Microcatheter


def measure_push(pusher: Wire, coil: Coil, lumen: Lumen) -> Measured:
    """The number part of ``push_behind``."""
    push_mm, wind_mm = width_of(pusher, lumen).mm, width_of(coil, lumen).mm
    bore_mm = bore_of(lumen, coil).mm
    if push_mm is None or wind_mm is None or bore_mm is None:
        return UNREAD
    margin_mm = push_mm + wind_mm - bore_mm
    slips = margin_mm <= SAME_MM
    return Measured(FitVerdict.MAY_FOLD if slips else FitVerdict.PASSES, margin_mm)


def push_behind(pusher: Wire, coil: Coil, lumen: Lumen) -> PairFit:
    """Whether a pusher stays behind the coil: side by side the two must not fit the lumen."""
    push, wind, bore = width_of(pusher, lumen), width_of(coil, lumen), bore_of(lumen, coil)
    if push.mm is None or wind.mm is None or bore.mm is None:
        missing = silent((pusher, push), (coil, wind), (lumen, bore))
        return cannot_be_told("pusher", pusher, coil, missing)
    verdict, margin_mm = measure_push(pusher, coil, lumen)
    text = f"{pusher.name} stays behind {coil.name} in {lumen.name}"
    if verdict is FitVerdict.MAY_FOLD:
        text = (
            f"{pusher.name} can slip past {coil.name} in {lumen.name} and wedge beside it: side "
            f"by side the two leave {-(margin_mm or 0.0):.3f} mm"
        )
    return compared("pusher", verdict, pusher, coil, margin_mm=margin_mm, text=text)


def measure_end(pusher: Wire) -> Measured:
    """The number part of ``pusher_end``: the same for every coil, and without a margin."""
    ends = pusher.front_end, pusher.back_end
    if WireEnd.SOFT in ends:
        return Measured(FitVerdict.PASSES, None)
    return UNREAD if None in ends else Measured(FitVerdict.WRONG_END, None)


def pusher_end(pusher: Wire, coil: Coil) -> PairFit:
    """Which end of the wire pushes: the soft one; the stiff one only loads the coil at the hub.

    References
    ----------
    Common practice, no source.
    """
    ends = {"front": pusher.front_end, "back": pusher.back_end}
    verdict, margin_mm = measure_end(pusher)
    if verdict is FitVerdict.PASSES:
        soft = next(name for name, end in ends.items() if end is WireEnd.SOFT)
        text = f"{pusher.name}: its {soft} end (soft) pushes {coil.name}"
        if WireEnd.STIFF in ends.values():
            text += ", its stiff end only loads it at the hub"
    elif verdict is FitVerdict.NOT_LABELLED:
        silent_ends = " and ".join(name for name, end in ends.items() if end is None)
        missing = ((pusher, f"the stiffness of the {silent_ends} end"),)
        return cannot_be_told("pusher-end", pusher, coil, missing)
    else:
        text = f"{pusher.name} has two stiff ends: it loads {coil.name} at the hub and no more"
    return compared(
        "pusher-end", verdict, pusher, coil, margin_mm=margin_mm, text=text, basis=COMMON_PRACTICE
    )
