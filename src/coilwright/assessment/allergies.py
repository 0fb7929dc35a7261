"""Known allergies to what the procedure uses; how to go on after contrast has its own rule."""

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
    stops = [name for name in present if name != "contrast"]
    missing = tuple(f"allergies.{name}" for name, answer in asked.items() if answer is None)
    others = len(facts.allergies.others)
    parts = [
        f"Allergy recorded: {', '.join(present)}." if present else "",
        f"Settle first what is used instead ({', '.join(stops)})." if stops else "",
        "For contrast see contrast-allergy-pathway." if facts.allergies.contrast else "",
        f"Other allergies recorded: {others}." if others else "",
        f"Allergies not recorded: {', '.join(missing)}." if missing else "",
    ]
    quiet = Urgency.CAUTION if missing or others else Urgency.INFO
    return (
        advise(
            rule=ALLERGY_RULE,
            urgency=Urgency.STOP_AND_THINK if stops else quiet,
            text=" ".join(filter(None, parts))
            or "No allergy to contrast, local anaesthetic or metal is recorded.",
            basis=(COMMON_PRACTICE,),
            inputs={name.replace("_", " "): said(answer) for name, answer in asked.items()},
            missing=missing,
        ),
    )
