"""Where the gonadal vein may be the kidney's way out, closing it is stopped for thought."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.aortomesenteric_angle import aortomesenteric_angle
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, Protocol, advise, louder

RENAL_VEIN_RULE = "renal-vein-compression"
STOP = (
    "The gonadal vein may be the kidney's way out: stop for thought before closing it, until the "
    "pull-back gradient or imaging is recorded."
)


def renal_vein_compression(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """One advisory from the signs, the angle, the gradient and the imaging that are recorded."""
    normal = protocol.limit("renocaval-gradient-normal-below")
    compression = protocol.limit("renocaval-gradient-compression-above")
    angle = aortomesenteric_angle(facts, protocol)
    present = [name for name, answer in _signs(facts).items() if answer]
    present += ["narrow aortomesenteric angle"] if angle.is_sign else []
    missing = _missing(facts, present)
    gradient_mmhg = facts.conditions.renal_vein.gradient_mmhg
    parts = [
        _of_signs(present, gradient_mmhg is not None, facts.conditions.renal_vein.imaging),
        angle.words,
        _of_gradient(gradient_mmhg, normal.value, compression.value),
        (Urgency.CAUTION, f"Not recorded of the renal vein: {', '.join(missing)}.")
        if missing
        else None,
    ]
    said = [part for part in parts if part is not None]
    urgency = Urgency.INFO
    for part in said:
        urgency = louder(urgency, part[0])
    none = "No sign of renal-vein compression, occlusion or variant is recorded as present."
    value, limit = (
        (gradient_mmhg, compression)
        if gradient_mmhg is not None
        else (angle.angle_deg, angle.narrow_below)
    )
    return (
        advise(
            rule=RENAL_VEIN_RULE,
            urgency=urgency,
            text=" ".join(text for _, text in said) or none,
            basis=(normal, compression, *angle.basis, COMMON_PRACTICE),
            value=value,
            limit=None if value is None else limit.value,
            unit=None if value is None else limit.unit,
            inputs=_inputs(facts),
            missing=missing,
        ),
    )


def _signs(facts: Facts) -> dict[str, bool | None]:
    renal_vein = facts.conditions.renal_vein
    return {
        "compression_signs": renal_vein.compression_signs,
        "occlusion": renal_vein.occlusion,
        "circumaortic": renal_vein.circumaortic,
        "retroaortic": renal_vein.retroaortic,
    }


def _missing(facts: Facts, present: list[str]) -> tuple[str, ...]:
    renal_vein = facts.conditions.renal_vein
    unasked = [name for name, answer in _signs(facts).items() if answer is None]
    if present and renal_vein.gradient_mmhg is None and renal_vein.imaging is None:
        unasked += ["gradient", "imaging"]
    return tuple(f"conditions.renal_vein.{name}" for name in unasked)


def _of_signs(
    present: list[str], measured: bool, imaging: str | None
) -> tuple[Urgency, str] | None:
    if not present:
        return None
    named = f"Recorded: {', '.join(present).replace('_', ' ')}."
    known = ["gradient"] * measured + ["imaging"] * (imaging is not None)
    if known:
        return Urgency.CAUTION, f"{named} Judge by the recorded {' and '.join(known)}."
    return Urgency.STOP_AND_THINK, f"{named} {STOP}"


def _of_gradient(
    gradient_mmhg: float | None, normal: float, compression: float
) -> tuple[Urgency, str] | None:
    if gradient_mmhg is None:
        return None
    if gradient_mmhg > compression:
        text = (
            f"Gradient {gradient_mmhg:g} mmHg, above {compression:g}: the renal vein is held to be "
            "compressed; stop for thought before closing the gonadal vein."
        )
        return Urgency.STOP_AND_THINK, text
    if gradient_mmhg >= normal:
        text = f"Gradient {gradient_mmhg:g} mmHg: borderline ({normal:g} to {compression:g})."
        return Urgency.CAUTION, text
    return Urgency.INFO, f"Gradient {gradient_mmhg:g} mmHg, normal (below {normal:g})."


def _inputs(facts: Facts) -> dict[str, str]:
    renal_vein = facts.conditions.renal_vein
    answers = {name.replace("_", " "): said(answer) for name, answer in _signs(facts).items()}
    gradient = renal_vein.gradient_mmhg
    answers["gradient"] = "not recorded" if gradient is None else f"{gradient:g} mmHg"
    angle = renal_vein.aortomesenteric_angle_deg
    answers["aortomesenteric angle"] = "not recorded" if angle is None else f"{angle:g} deg"
    answers["imaging"] = "not recorded" if renal_vein.imaging is None else "recorded"
    return answers
