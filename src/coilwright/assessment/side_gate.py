"""The side gate: referral, ultrasound, consent and time-out must name the same side."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.stated_side import stated_sides
from coilwright.protocol import COMMON_PRACTICE, advise

SIDE_RULE = "side-agreement"
_KEYS = {
    "referral": "referral.side",
    "ultrasound": "ultrasound.side",
    "consent": "consent.side",
    "time-out": "time_out.side",
}


def side_agreement(facts: Facts) -> tuple[Advisory, ...]:
    """One advisory: the sides agree, disagree, or are not all recorded."""
    stated = stated_sides(facts)
    recorded = {who: side.value for who, side in stated.items() if side is not None}
    recorded |= {f"run {place + 1}": side.value for place, side in enumerate(facts.run_sides)}
    missing = tuple(_KEYS[who] for who, side in stated.items() if side is None)
    said = ", ".join(f"{who} {side}" for who, side in recorded.items())
    absent = f" Not recorded: {', '.join(missing)}." if missing else ""
    if len(set(recorded.values())) > 1:
        urgency, text = Urgency.STOP_AND_THINK, f"The sides do not agree: {said}.{absent}"
    elif missing:
        urgency, text = Urgency.CAUTION, f"The side is not fully checked: {said or 'none'}.{absent}"
    else:
        urgency, text = Urgency.INFO, f"The sides agree: {said}."
    return (
        advise(
            rule=SIDE_RULE,
            urgency=urgency,
            text=text,
            basis=(COMMON_PRACTICE,),
            inputs=recorded,
            missing=missing,
        ),
    )
