"""The question before a nitrate is given for spasm."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, advise

PDE5_RULE = "pde5-inhibitor-and-nitrate"


def nitrate_question(facts: Facts) -> tuple[Advisory, ...]:
    """Whether a phosphodiesterase-5 inhibitor or a nitrate is taken already."""
    taken = {
        "phosphodiesterase-5 inhibitor": facts.medication.pde5_inhibitor,
        "nitrate": facts.medication.nitrate,
    }
    keys = ("medication.pde5_inhibitor", "medication.nitrate")
    missing = tuple(key for key, answer in zip(keys, taken.values(), strict=True) if answer is None)
    urgency, text = _words(facts.medication.pde5_inhibitor, facts.medication.nitrate)
    if missing:
        text = (
            f"{text} Ask before a nitrate is given for spasm; not recorded: {', '.join(missing)}."
        )
        urgency = urgency if urgency is Urgency.STOP_AND_THINK else Urgency.CAUTION
    return (
        advise(
            rule=PDE5_RULE,
            urgency=urgency,
            text=text.strip(),
            basis=(COMMON_PRACTICE,),
            inputs={name: said(answer) for name, answer in taken.items()},
            missing=missing,
        ),
    )


def _words(pde5: bool | None, nitrate: bool | None) -> tuple[Urgency, str]:
    if pde5:
        text = "Takes a phosphodiesterase-5 inhibitor: a nitrate for spasm may drop the pressure "
        return Urgency.STOP_AND_THINK, f"{text}dangerously; ask which drug and when last taken."
    if nitrate:
        return Urgency.CAUTION, "Takes a nitrate already: count it before another is given."
    if pde5 is None or nitrate is None:
        return Urgency.CAUTION, ""
    return Urgency.INFO, "Takes neither a phosphodiesterase-5 inhibitor nor a nitrate."
