"""Antithrombotic drugs before the procedure: whether the consensus holds them, and how long."""

from dataclasses import dataclass

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.antithrombotic_drugs import Antithrombotic, DrugsNamed, drugs_named
from coilwright.assessment.bleeding_class import by_analogy, is_high_risk
from coilwright.assessment.facts import Facts
from coilwright.protocol import COMMON_PRACTICE, Citation, Limit, Protocol, advise

LOW_RISK_RULE = "antithrombotics-low-risk"
HIGH_RISK_RULE = "antithrombotics-high-risk"
NOT_WITHHELD = Citation(
    source="Patel IJ et al., SIR consensus on periprocedural thrombotic and bleeding risk, J Vasc "
    "Interv Radiol 2019;30:1168-1184, restated on a public summary page",
    status=Status.RESTATED,
)
ASPIRIN_NOT_WITHHELD = Citation(
    source="Patel IJ et al., SIR consensus on periprocedural thrombotic and bleeding risk, J Vasc "
    "Interv Radiol 2019;30:1168-1184, aspirin",
    status=Status.FROM_MEMORY,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Hold:
    """How long a drug is held: ids of one limit, or of a shortest and a longest."""

    limits: tuple[str, ...]
    when: str = ""


def _range(name: str, when: str = "") -> _Hold:
    return _Hold(limits=(f"hold-{name}-shortest", f"hold-{name}-longest"), when=when)


_HOLDS: dict[Antithrombotic, tuple[_Hold, ...]] = {
    Antithrombotic.HEPARIN: (_range("heparin"),),
    Antithrombotic.LMWH: (
        _Hold(limits=("hold-lmwh-prophylactic",), when="after a prophylactic dose"),
        _Hold(limits=("hold-lmwh-therapeutic",), when="after a therapeutic dose"),
    ),
    Antithrombotic.FONDAPARINUX: (
        _range("fondaparinux", "with a creatinine clearance above {clearance}"),
        _range("fondaparinux-low-clearance", "with one of {clearance} or less"),
    ),
    Antithrombotic.ARGATROBAN: (_range("argatroban"),),
    Antithrombotic.WARFARIN: (_Hold(limits=("hold-warfarin",)),),
    Antithrombotic.APIXABAN: (_Hold(limits=("hold-apixaban",)),),
    Antithrombotic.RIVAROXABAN: (_Hold(limits=("hold-rivaroxaban",)),),
    Antithrombotic.DABIGATRAN: (_Hold(limits=("hold-dabigatran",)),),
    Antithrombotic.EDOXABAN: (_Hold(limits=("hold-edoxaban",)),),
    Antithrombotic.CLOPIDOGREL: (_Hold(limits=("hold-clopidogrel",)),),
    Antithrombotic.TICAGRELOR: (_Hold(limits=("hold-ticagrelor",)),),
    Antithrombotic.PRASUGREL: (_Hold(limits=("hold-prasugrel",)),),
    Antithrombotic.ASPIRIN: (_range("aspirin"),),
}
_UNIT_WORDS = {"h": "h", "d": "days", "dose": "doses"}


def antithrombotics(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """One advisory for each drug named, for what is not read, and for what is not recorded."""
    asked = {
        "medication.anticoagulant": facts.medication.anticoagulant,
        "medication.antiplatelet": facts.medication.antiplatelet,
    }
    named = {key: drugs_named(typed) for key, typed in asked.items() if typed is not None}
    missing = tuple(key for key, typed in asked.items() if typed is None)
    unread = tuple(key for key, found in named.items() if found.unread)
    of_drug = _at_high_risk if is_high_risk(protocol) else _at_low_risk
    advisories = [of_drug(drug, protocol) for drug in _all_drugs(facts, named)]
    if unread:
        advisories.append(_unread(unread, protocol))
    if missing:
        advisories.append(_missing(missing, protocol))
    return tuple(advisories) or (_none(protocol),)


def _all_drugs(facts: Facts, named: dict[str, DrugsNamed]) -> tuple[Antithrombotic, ...]:
    """The drugs of both fields, and those that stand among the patient's other drugs."""
    others = [drugs_named(typed) for typed in facts.medication.others]
    found = [*named.values(), *others]
    return tuple(dict.fromkeys(drug for one in found for drug in one.drugs))


def _rule(protocol: Protocol) -> str:
    return HIGH_RISK_RULE if is_high_risk(protocol) else LOW_RISK_RULE


def _at_low_risk(drug: Antithrombotic, protocol: Protocol) -> Advisory:
    aspirin = drug is Antithrombotic.ASPIRIN
    words = "by the consensus not withheld before a low-risk procedure"
    return advise(
        rule=LOW_RISK_RULE,
        urgency=Urgency.CAUTION if aspirin else Urgency.INFO,
        text=f"Takes {drug}: {words}{' (from memory: check)' if aspirin else ''}"
        f"{'; its INR decides, see inr-low-risk' if drug is Antithrombotic.WARFARIN else ''}. "
        f"{by_analogy(protocol)}",
        basis=(ASPIRIN_NOT_WITHHELD if aspirin else NOT_WITHHELD,),
        inputs={"drug": drug.value, "risk class": "low"},
    )


def _at_high_risk(drug: Antithrombotic, protocol: Protocol) -> Advisory:
    holds = _HOLDS[drug]
    limits = [protocol.limit(id) for hold in holds for id in hold.limits]
    clearance = protocol.limit("fondaparinux-clearance-above")
    extra = (clearance,) if drug is Antithrombotic.FONDAPARINUX else ()
    spans = [_span(hold, protocol, clearance) for hold in holds]
    return advise(
        rule=HIGH_RISK_RULE,
        urgency=Urgency.STOP_AND_THINK,
        text=f"Takes {drug}: before a high-risk procedure held for {', or '.join(spans)}"
        f"{_aside(drug, protocol)}. When it was last taken is not asked here: ask, and weigh it "
        f"with whoever prescribed it. {by_analogy(protocol)}",
        basis=(*limits, *extra),
        limit=max(limit.value for limit in limits),
        unit=limits[0].unit,
        inputs={"drug": drug.value, "risk class": "high", "last taken": "not recorded"},
    )


def _span(hold: _Hold, protocol: Protocol, clearance: Limit) -> str:
    limits = [protocol.limit(id) for id in hold.limits]
    numbers = " to ".join(f"{limit.value:g}" for limit in limits)
    when = hold.when.format(clearance=f"{clearance.value:g} {clearance.unit}")
    return f"{numbers} {_UNIT_WORDS[limits[0].unit]} {when}".strip()


def _aside(drug: Antithrombotic, protocol: Protocol) -> str:
    if drug is Antithrombotic.FONDAPARINUX:
        return " (the creatinine clearance is not the eGFR, and is not computed here)"
    if drug is Antithrombotic.WARFARIN:
        return f" and until the INR is not above {protocol.limit('inr-high-risk-upper').value:g}"
    return ""


def _unread(keys: tuple[str, ...], protocol: Protocol) -> Advisory:
    return advise(
        rule=_rule(protocol),
        urgency=Urgency.CAUTION,
        text=f"Takes a drug that has no rule here, or the words are not read: ask which it is and "
        f"whether it is still taken ({', '.join(keys)}).",
        basis=(COMMON_PRACTICE,),
        inputs=dict.fromkeys(keys, "recorded, not read"),
    )


def _missing(keys: tuple[str, ...], protocol: Protocol) -> Advisory:
    return advise(
        rule=_rule(protocol),
        urgency=Urgency.CAUTION,
        text=f"Drugs against clotting not recorded: {', '.join(keys)}.",
        basis=(COMMON_PRACTICE,),
        missing=keys,
    )


def _none(protocol: Protocol) -> Advisory:
    return advise(
        rule=_rule(protocol),
        urgency=Urgency.INFO,
        text="Takes neither an anticoagulant nor an antiplatelet drug.",
        basis=(COMMON_PRACTICE,),
        inputs={"anticoagulant": "none", "antiplatelet": "none"},
    )
