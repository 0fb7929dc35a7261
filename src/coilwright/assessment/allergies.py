"""Known allergies to what the procedure uses."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, advise

ALLERGY_RULE = "known-allergy"


def known_allergies(facts: Facts) -> tuple[Advisory, ...]:
    """One advisory: what is recorded, and what nobody has asked."""
    asked = {
        "contrast": facts.allergies.contrast,
        "local_anaesthetic": facts.allergies.local_anaesthetic,
        "metal": facts.allergies.metal,
    }
    present = [name.replace("_", " ") for name, answer in asked.items() if answer]
    missing = tuple(f"allergies.{name}" for name, answer in asked.items() if answer is None)
    others = len(facts.allergies.others)
    parts = [
        f"Allergy recorded: {', '.join(present)}; settle the pathway first." if present else "",
        f"Other allergies recorded: {others}." if others else "",
        f"Not recorded: {', '.join(missing)}." if missing else "",
    ]
    quiet = Urgency.CAUTION if missing or others else Urgency.INFO
    return (
        advise(
            rule=ALLERGY_RULE,
            urgency=Urgency.STOP_AND_THINK if present else quiet,
            text=" ".join(filter(None, parts))
            or "No allergy to contrast, local anaesthetic or metal is recorded.",
            basis=(COMMON_PRACTICE,),
            inputs={name.replace("_", " "): said(answer) for name, answer in asked.items()},
            missing=missing,
        ),
    )
