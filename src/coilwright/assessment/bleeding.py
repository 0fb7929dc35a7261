"""Clotting, platelets and haemoglobin against the consensus, in the class the site picked."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.antithrombotic_drugs import Antithrombotic, drugs_named
from coilwright.assessment.bleeding_class import by_analogy, is_high_risk
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, Protocol, advise

INR_RULE = "inr-low-risk"
INR_HIGH_RULE = "inr-high-risk"
PLATELETS_RULE = "platelets-low-risk"
PLATELETS_HIGH_RULE = "platelets-high-risk"
HAEMOGLOBIN_HIGH_RULE = "haemoglobin-high-risk"
DISORDER_RULE = "bleeding-disorder"
DIRECT = frozenset(
    {
        Antithrombotic.APIXABAN,
        Antithrombotic.RIVAROXABAN,
        Antithrombotic.DABIGATRAN,
        Antithrombotic.EDOXABAN,
    }
)
SCREENED = "at high risk it is looked at in everybody"


def bleeding_risk(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """INR and platelets, at high risk haemoglobin too, each judged or named as missing."""
    if is_high_risk(protocol):
        return (
            _inr(facts, protocol, "high"),
            _platelets_at_high_risk(facts, protocol),
            _haemoglobin(facts, protocol),
        )
    return (_inr(facts, protocol, "low"), _platelets_at_low_risk(facts, protocol))


def bleeding_disorder(facts: Facts) -> tuple[Advisory, ...]:
    """Whether a bleeding disorder is recorded."""
    answer = facts.conditions.bleeding_disorder
    if answer is None:
        urgency = Urgency.CAUTION
        text = "Whether there is a bleeding disorder is not recorded: conditions.bleeding_disorder."
    elif answer:
        urgency = Urgency.STOP_AND_THINK
        text = (
            "Bleeding disorder recorded: settle with a haematologist which it is, what is given "
            "before the puncture, and which blood results are wanted."
        )
    else:
        urgency, text = Urgency.INFO, "No bleeding disorder is recorded."
    return (
        advise(
            rule=DISORDER_RULE,
            urgency=urgency,
            text=text,
            basis=(COMMON_PRACTICE,),
            inputs={"bleeding disorder": said(answer)},
            missing=() if answer is not None else ("conditions.bleeding_disorder",),
        ),
    )


def _inr(facts: Facts, protocol: Protocol, risk: str) -> Advisory:
    lower, upper = (
        protocol.limit(f"inr-{risk}-risk-lower"),
        protocol.limit(f"inr-{risk}-risk-upper"),
    )
    rule = INR_HIGH_RULE if is_high_risk(protocol) else INR_RULE
    result, asides = facts.bloods.inr, f"{_anticoagulant(facts)} {by_analogy(protocol)}"
    if result is None:
        routine = "not routinely needed at low risk unless warfarin, heparin or a bleeding tendency"
        when = SCREENED if is_high_risk(protocol) else routine
        return advise(
            rule=rule,
            urgency=_urgency_without(facts, protocol),
            text=f"INR not recorded: bloods.inr; {when}. {asides}",
            basis=(lower, upper),
            missing=("bloods.inr",),
        )
    urgency, words = _inr_words(result.value, lower.value, upper.value)
    direct = _direct_words(facts)
    return advise(
        rule=rule,
        urgency=urgency,
        text=" ".join(filter(None, (f"INR {result.value:g}, {words}.", direct, asides))),
        basis=(lower, upper, COMMON_PRACTICE) if direct else (lower, upper),
        value=result.value,
        limit=upper.value,
        unit=upper.unit,
        inputs={"INR": f"{result.value:g}", "risk class": risk},
    )


def _inr_words(inr: float, lower: float, upper: float) -> tuple[Urgency, str]:
    if inr > upper:
        return Urgency.STOP_AND_THINK, f"above {upper:g}: advised to be corrected first"
    if inr > lower:
        words = f"between {lower:g} and {upper:g}, the range it is corrected to"
        return Urgency.CAUTION, words
    return Urgency.INFO, f"not above {lower:g}"


def _platelets_at_low_risk(facts: Facts, protocol: Protocol) -> Advisory:
    limit, older = protocol.limit("platelets-low-risk"), protocol.limit("platelets-older-guide")
    result = facts.bloods.platelets
    if result is None:
        return advise(
            rule=PLATELETS_RULE,
            urgency=_urgency_without(facts, protocol),
            text=f"Platelets not recorded: bloods.platelets. {by_analogy(protocol)}",
            basis=(limit, older),
            missing=("bloods.platelets",),
        )
    count = result.value.to("10^9/L")
    if count < limit.value:
        urgency = Urgency.STOP_AND_THINK
        words = f"below {limit.value:g}: advised to be corrected first"
    elif count < older.value:
        urgency, words = Urgency.CAUTION, f"below {older.value:g}, where an older guide stopped"
    else:
        urgency, words = Urgency.INFO, f"not below {older.value:g}"
    return advise(
        rule=PLATELETS_RULE,
        urgency=urgency,
        text=f"Platelets {count:g} {limit.unit}, {words}. {by_analogy(protocol)}",
        basis=(limit, older),
        value=count,
        limit=limit.value,
        unit=limit.unit,
        inputs={"platelets": str(result.value), "risk class": "low"},
    )


def _platelets_at_high_risk(facts: Facts, protocol: Protocol) -> Advisory:
    limit, result = protocol.limit("platelets-high-risk"), facts.bloods.platelets
    if result is None:
        return advise(
            rule=PLATELETS_HIGH_RULE,
            urgency=Urgency.CAUTION,
            text=f"Platelets not recorded: bloods.platelets; {SCREENED}. {by_analogy(protocol)}",
            basis=(limit,),
            missing=("bloods.platelets",),
        )
    count = result.value.to("10^9/L")
    low = count < limit.value
    words = f"below {limit.value:g}: advised to be corrected first"
    return advise(
        rule=PLATELETS_HIGH_RULE,
        urgency=Urgency.STOP_AND_THINK if low else Urgency.INFO,
        text=f"Platelets {count:g} {limit.unit}, {words if low else f'not below {limit.value:g}'}. "
        f"{by_analogy(protocol)}",
        basis=(limit,),
        value=count,
        limit=limit.value,
        unit=limit.unit,
        inputs={"platelets": str(result.value), "risk class": "high"},
    )


def _haemoglobin(facts: Facts, protocol: Protocol) -> Advisory:
    result, choice = facts.bloods.haemoglobin, protocol.choice("bleeding-risk-class")
    if result is None:
        return advise(
            rule=HAEMOGLOBIN_HIGH_RULE,
            urgency=Urgency.CAUTION,
            text=f"Haemoglobin not recorded: bloods.haemoglobin; {SCREENED}. "
            f"{by_analogy(protocol)}",
            basis=(choice,),
            missing=("bloods.haemoglobin",),
        )
    return advise(
        rule=HAEMOGLOBIN_HIGH_RULE,
        urgency=Urgency.INFO,
        text=f"Haemoglobin {result.value} is recorded; no published threshold is held here, so it "
        f"is not judged. {by_analogy(protocol)}",
        basis=(choice,),
        value=result.value.value,
        unit=result.value.unit,
        inputs={"haemoglobin": str(result.value), "risk class": "high"},
    )


def _direct_words(facts: Facts) -> str:
    drugs = drugs_named(facts.medication.anticoagulant or "").drugs
    named = [drug.value for drug in drugs if drug in DIRECT]
    return f"It does not show how much {' and '.join(named)} is at work." if named else ""


def _none_taken(facts: Facts) -> bool:
    typed = facts.medication.anticoagulant
    if typed is None:
        return False
    named = drugs_named(typed)
    return not named.drugs and not named.unread


def _urgency_without(facts: Facts, protocol: Protocol) -> Urgency:
    """At low risk a missing result is quiet once anticoagulants are ruled out."""
    wanted = is_high_risk(protocol) or bool(facts.conditions.bleeding_disorder)
    return Urgency.INFO if _none_taken(facts) and not wanted else Urgency.CAUTION


def _anticoagulant(facts: Facts) -> str:
    typed = facts.medication.anticoagulant
    if typed is None:
        return "Anticoagulant: not recorded."
    if _none_taken(facts):
        return "Anticoagulant: none."
    return (
        "Takes an anticoagulant." if drugs_named(typed).drugs else "Anticoagulant: not read, ask."
    )
