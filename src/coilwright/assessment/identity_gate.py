"""The identity gate: every paper that names a patient must name this one."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, advise

IDENTITY_RULE = "identity-agreement"


def identity_agreement(facts: Facts) -> tuple[Advisory, ...]:
    """One advisory: which papers name the case's patient id, another, or none.

    The ids themselves stand in no text: advisories travel further than the case does.
    """
    named = {
        "referral": facts.referral.patient_id,
        "worklist": facts.worklist.patient_id,
        "consent": facts.consent.patient_id,
        "time-out": facts.time_out.patient_id,
    } | {f"ultrasound {place}": exam.patient_id for place, exam in enumerate(facts.ultrasound, 1)}
    own = _plain(facts.patient.id)
    differ = [who for who, id in named.items() if id is not None and _plain(id) != own]
    agree = [who for who, id in named.items() if id is not None and who not in differ]
    unnamed = [who for who, id in named.items() if id is None]
    urgency, text = Urgency.INFO, f"The patient id agrees in: {', '.join(agree)}."
    if differ:
        urgency = Urgency.STOP_AND_THINK
        text = f"Another patient id than the case's stands in: {', '.join(differ)}."
    elif not agree:
        urgency = Urgency.CAUTION
        text = "The patient's identity is not checked: no paper of the case repeats the id."
    return (
        advise(
            rule=IDENTITY_RULE,
            urgency=urgency,
            text=f"{text} Not recorded in: {', '.join(unnamed)}." if unnamed else text,
            basis=(COMMON_PRACTICE,),
            inputs={who: _answer(who, differ, agree) for who in named},
            missing=() if agree or differ else ("consent.patient_id", "time_out.patient_id"),
        ),
    )


def _plain(id: str) -> str:
    return id.replace(" ", "").casefold()


def _answer(who: str, differ: list[str], agree: list[str]) -> str:
    if who in differ:
        return "another id"
    return "agrees" if who in agree else "not recorded"
