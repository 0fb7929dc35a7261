"""Whether a run can show reflux at all."""

from dataclasses import dataclass

from coilwright.veins.runs import Conditions

# Where the tip lies, as people write it. Anything else is not judged.
AT_THE_OSTIUM = ("renal vein", "ostium", "renal hilum")
INSIDE_THE_VEIN = ("gonadal", "testicular", "spermatic", "ovarian")


@dataclass(frozen=True, slots=True, kw_only=True)
class RefluxView:
    """Whether this run can show reflux; ``can_show`` is None where that is not known."""

    can_show: bool | None
    why: str


def reflux_view(conditions: Conditions) -> RefluxView:
    """Only an injection at the renal vein or ostium, with Valsalva or tilt, shows reflux.

    Contrast injected inside the gonadal vein runs down because it is pushed (practitioner's
    review, truth and safety 1; common practice, no source).

    Examples
    --------
    >>> reflux_view(Conditions(tip_site="left gonadal vein", valsalva=True)).can_show
    False
    >>> reflux_view(Conditions(tip_site="left renal vein", valsalva=True)).can_show
    True
    """
    site = (conditions.tip_site or "").lower()
    at_ostium = any(word in site for word in AT_THE_OSTIUM)
    if not at_ostium and any(word in site for word in INSIDE_THE_VEIN):
        why = "injected inside the gonadal vein: contrast runs down because it is pushed"
        return RefluxView(can_show=False, why=why)
    if not at_ostium:
        return RefluxView(can_show=None, why="where the tip lay during the injection is not known")
    feet_down = conditions.tilt_deg is not None and conditions.tilt_deg > 0.0
    if conditions.valsalva or feet_down:
        how = "Valsalva" if conditions.valsalva else "tilt"
        return RefluxView(can_show=True, why=f"injected at the renal vein or ostium with {how}")
    if conditions.valsalva is None or conditions.tilt_deg is None:
        return RefluxView(can_show=None, why="whether with Valsalva or tilt is not known")
    return RefluxView(can_show=False, why="injected at the ostium without Valsalva and tilt")
