"""Contrast given so far over kidney function: as volume, and as iodine."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.contrast_cut_offs import (
    EXTRAPOLATED,
    disagreement,
    ends_of_range,
    other_cut_offs,
    volume_cut_off,
)
from coilwright.assessment.facts import Facts
from coilwright.assessment.kidney import EGFR_UNIT, KidneyFunction
from coilwright.assessment.totals import total_urgency
from coilwright.protocol import Protocol, advise, louder

RATIO_RULE = "contrast-volume-egfr-ratio"
IODINE_RULE = "iodine-per-egfr"


def ratios_so_far(facts: Facts, kidney: KidneyFunction, protocol: Protocol) -> tuple[Advisory, ...]:
    """Volume and iodine given so far over kidney function; nothing before any is given."""
    if kidney.egfr is None or not facts.given.contrast:
        return ()
    return (
        _volume_ratio(facts.given.contrast_ml / kidney.egfr, kidney, protocol),
        _iodine_ratio(facts.given.iodine_g / kidney.egfr, kidney, protocol),
    )


def _volume_ratio(ratio: float, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    lowest, cut_off = protocol.limit("contrast-volume-egfr-lowest"), volume_cut_off(protocol)
    urgency = Urgency.CAUTION if ratio >= lowest.value else Urgency.INFO
    if ratio >= cut_off.value:
        urgency = louder(urgency, Urgency.STOP_AND_THINK)
    return advise(
        rule=RATIO_RULE,
        urgency=urgency,
        text=f"Contrast so far is {ratio:.2f} times the kidney function; the lowest published "
        f"cut-off is {lowest.value:g}, the site's {cut_off.value:g}. {disagreement(protocol)} "
        f"{EXTRAPOLATED}",
        basis=(cut_off, *ends_of_range(protocol), *kidney.basis),
        value=ratio,
        limit=cut_off.value,
        unit=cut_off.unit,
        inputs={
            "kidney function": f"{kidney.egfr:.1f} {EGFR_UNIT}",
            "other cut-offs": other_cut_offs(protocol),
        },
    )


def _iodine_ratio(ratio: float, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    chosen = protocol.choice("iodine-per-egfr-cut-off")
    cut_off = protocol.limit(f"iodine-per-egfr-{chosen.value}")
    others = [protocol.limit(f"iodine-per-egfr-{option}").value for option in chosen.options]
    return advise(
        rule=IODINE_RULE,
        urgency=total_urgency(ratio, cut_off.value, protocol),
        text=f"Iodine so far over kidney function is {ratio:.2f}; the site's cut-off is "
        f"{cut_off.value:g} (those in use run from {min(others):g} to {max(others):g}). "
        f"{EXTRAPOLATED}",
        basis=(cut_off, *kidney.basis),
        value=ratio,
        limit=cut_off.value,
        unit=cut_off.unit,
        inputs={"kidney function": f"{kidney.egfr:.1f} {EGFR_UNIT}"},
    )
