"""Clotting and platelets against the consensus for a low-risk procedure, by analogy."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.protocol import Protocol, advise

INR_RULE = "inr-low-risk"
PLATELETS_RULE = "platelets-low-risk"
ANALOGY = (
    "By analogy: the consensus does not name gonadal vein embolisation; low risk as venous "
    "interventions of pelvis and extremities are."
)


def bleeding_risk(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """INR and platelets, each judged or named as missing."""
    return (_inr(facts, protocol), _platelets(facts, protocol))


def _inr(facts: Facts, protocol: Protocol) -> Advisory:
    lower, upper = protocol.limit("inr-low-risk-lower"), protocol.limit("inr-low-risk-upper")
    result = facts.bloods.inr
    if result is None:
        return advise(
            rule=INR_RULE,
            urgency=_urgency_without(facts),
            text="INR not recorded: bloods.inr; not routinely needed at low risk unless warfarin, "
            f"heparin or a bleeding tendency. {_anticoagulant(facts)} {ANALOGY}",
            basis=(lower, upper),
            missing=("bloods.inr",),
        )
    if result.value > upper.value:
        urgency, words = (
            Urgency.STOP_AND_THINK,
            f"above {upper.value:g}: the consensus corrects it first",
        )
    elif result.value > lower.value:
        urgency = Urgency.CAUTION
        words = f"between {lower.value:g} and {upper.value:g}, the range it is corrected to"
    else:
        urgency, words = Urgency.INFO, f"not above {lower.value:g}"
    return advise(
        rule=INR_RULE,
        urgency=urgency,
        text=f"INR {result.value:g}, {words}. {_anticoagulant(facts)} {ANALOGY}",
        basis=(lower, upper),
        value=result.value,
        limit=upper.value,
        unit=upper.unit,
        inputs={"INR": f"{result.value:g}"},
    )


def _platelets(facts: Facts, protocol: Protocol) -> Advisory:
    limit, older = protocol.limit("platelets-low-risk"), protocol.limit("platelets-older-guide")
    result = facts.bloods.platelets
    if result is None:
        return advise(
            rule=PLATELETS_RULE,
            urgency=_urgency_without(facts),
            text=f"Platelets not recorded: bloods.platelets. {ANALOGY}",
            basis=(limit, older),
            missing=("bloods.platelets",),
        )
    count = result.value.to("10^9/L")
    if count < limit.value:
        urgency, words = (
            Urgency.STOP_AND_THINK,
            f"below {limit.value:g}: the consensus corrects it first",
        )
    elif count < older.value:
        urgency, words = Urgency.CAUTION, f"below {older.value:g}, where an older guide stopped"
    else:
        urgency, words = Urgency.INFO, f"not below {older.value:g}"
    return advise(
        rule=PLATELETS_RULE,
        urgency=urgency,
        text=f"Platelets {count:g} {limit.unit}, {words}. {ANALOGY}",
        basis=(limit, older),
        value=count,
        limit=limit.value,
        unit=limit.unit,
        inputs={"platelets": str(result.value)},
    )


def _none_taken(facts: Facts) -> bool:
    return (facts.medication.anticoagulant or "").lower() in {"none", "no"}


def _urgency_without(facts: Facts) -> Urgency:
    return Urgency.INFO if _none_taken(facts) else Urgency.CAUTION


def _anticoagulant(facts: Facts) -> str:
    if facts.medication.anticoagulant is None:
        return "Anticoagulant: not recorded."
    return "Anticoagulant: none." if _none_taken(facts) else "Takes an anticoagulant."
