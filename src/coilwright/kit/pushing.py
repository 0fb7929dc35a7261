"""A wire that pushes a coil: whether it stays behind it, and which of its ends goes in."""

from coilwright.kit.access_devices import Catheter, Microcatheter, Sheath, Wire, WireEnd
from coilwright.kit.coil import Coil
from coilwright.kit.label_values import bore_of, silent, width_of
from coilwright.kit.pair_fit import SAME_MM, FitVerdict, PairFit, cannot_be_told, compared
from coilwright.protocol import COMMON_PRACTICE

Lumen = Sheath | Catheter | Microcatheter


def push_behind(pusher: Wire, coil: Coil, lumen: Lumen) -> PairFit:
    """Whether a pusher stays behind the coil: side by side the two must not fit the lumen."""
    push, wind, bore = width_of(pusher, lumen), width_of(coil, lumen), bore_of(lumen, coil)
    if push.mm is None or wind.mm is None or bore.mm is None:
        missing = silent((pusher, push), (coil, wind), (lumen, bore))
        return cannot_be_told("pusher", pusher, coil, missing)
    margin_mm = push.mm + wind.mm - bore.mm
    if margin_mm <= SAME_MM:
        text = (
            f"{pusher.name} can slip past {coil.name} in {lumen.name} and wedge beside it: side "
            f"by side the two leave {-margin_mm:.3f} mm"
        )
        return compared("pusher", FitVerdict.MAY_FOLD, pusher, coil, margin_mm=margin_mm, text=text)
    text = f"{pusher.name} stays behind {coil.name} in {lumen.name}"
    return compared("pusher", FitVerdict.PASSES, pusher, coil, margin_mm=margin_mm, text=text)


def pusher_end(pusher: Wire, coil: Coil) -> PairFit:
    """Which end of the wire pushes: the soft one; the stiff one only loads the coil at the hub.

    References
    ----------
    Common practice, no source.
    """
    ends = {"front": pusher.front_end, "back": pusher.back_end}
    soft = next((name for name, end in ends.items() if end is WireEnd.SOFT), None)
    if soft is not None:
        verdict = FitVerdict.PASSES
        text = f"{pusher.name}: its {soft} end (soft) pushes {coil.name}"
        if WireEnd.STIFF in ends.values():
            text += ", its stiff end only loads it at the hub"
    elif None in ends.values():
        silent_ends = " and ".join(name for name, end in ends.items() if end is None)
        missing = ((pusher, f"the stiffness of the {silent_ends} end"),)
        return cannot_be_told("pusher-end", pusher, coil, missing)
    else:
        verdict = FitVerdict.WRONG_END
        text = f"{pusher.name} has two stiff ends: it loads {coil.name} at the hub and no more"
    return compared(
        "pusher-end", verdict, pusher, coil, margin_mm=None, text=text, basis=COMMON_PRACTICE
    )
