"""What a vein of that width, or that reflux, meant in two studies: information, no criterion."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.cut_offs import at_least
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Ultrasound
from coilwright.assessment.reflux import reflux_lasts_s
from coilwright.assessment.ultrasound_veins import measured_sides, widest_vein
from coilwright.protocol import Protocol, advise
from coilwright.veins import Side

STUDY_RULE = "ultrasound-diameter-by-grade"
HEALTHY_RULE = "ultrasound-healthy-reference"
# From the narrowest: each cut-off, and what lies below it.
_CUT_OFFS = (
    ("us-study-normal-or-grade-1", "normal or grade I"),
    ("us-study-grade-1-or-2", "grade I"),
    ("us-study-grade-2-or-3", "grade II"),
)


def ultrasound_reference(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Both comparisons for each side, where something is recorded to compare."""
    return tuple(
        advisory
        for side, exam in measured_sides(facts)
        for advisory in (*_by_grade(side, exam, protocol), *_healthy(side, exam, protocol))
    )


def _by_grade(side: Side, exam: Ultrasound, protocol: Protocol) -> list[Advisory]:
    width_mm = exam.vein_upright_valsalva_mm
    if width_mm is None:
        return []
    limits = [(protocol.limit(id), below) for id, below in _CUT_OFFS]
    varicocele = protocol.limit("us-study-varicocele")
    group = next(
        (below for limit, below in limits if not at_least(width_mm, limit.value)), "grade III"
    )
    against = "at or above" if at_least(width_mm, varicocele.value) else "below"
    cut_offs = ", ".join(f"{limit.value:g}" for limit, _ in limits)
    return [
        advise(
            rule=STUDY_RULE,
            urgency=Urgency.INFO,
            text=f"{side.value.capitalize()}: for information, vein {width_mm:g} mm upright on "
            f"Valsalva; in one study (n = 103) that width went with {group} (cut-offs {cut_offs} "
            f"mm), and is {against} its {varicocele.value:g} mm for a varicocele. Measured there "
            "at the head of the epididymis. The grade follows from the examination, not from this.",
            basis=(*(limit for limit, _ in limits), varicocele),
            value=width_mm,
            limit=varicocele.value,
            unit="mm",
            inputs={"side": side.value, "upright on Valsalva": f"{width_mm:g} mm"},
        )
    ]


def _healthy(side: Side, exam: Ultrasound, protocol: Protocol) -> list[Advisory]:
    widest, lasts_s = widest_vein(exam), reflux_lasts_s(exam)
    if widest is None and lasts_s is None and exam.reflux_on_valsalva is None:
        return []
    mean = protocol.limit(f"us-healthy-vein-{side.value}")
    sd = protocol.limit("us-healthy-vein-sd")
    share = protocol.limit("us-healthy-reflux-share")
    duration = protocol.limit("us-healthy-reflux-duration")
    duration_sd = protocol.limit("us-healthy-reflux-duration-sd")
    slow = protocol.limit("us-healthy-reflux-velocity-lower")
    fast = protocol.limit("us-healthy-reflux-velocity-upper")
    inputs = {"side": side.value}
    if widest is not None:
        inputs["widest vein"] = f"{widest.width_mm:g} mm ({widest.condition})"
    if lasts_s is not None:
        inputs["reflux lasts"] = f"{lasts_s:g} s"
    return [
        advise(
            rule=HEALTHY_RULE,
            urgency=Urgency.INFO,
            text=f"{side.value.capitalize()}: for information, healthy volunteers (n = 56) had "
            f"veins of {mean.value:g} ± {sd.value:g} mm on this side; {share.value:g} % of their "
            f"hemiscrotums had reflux on Valsalva, for {duration.value:g} ± {duration_sd.value:g} "
            f"s at {slow.value:g} to {fast.value:g} cm/s. Short reflux alone is common in health.",
            basis=(mean, sd, share, duration, duration_sd, slow, fast),
            inputs=inputs,
        )
    ]
