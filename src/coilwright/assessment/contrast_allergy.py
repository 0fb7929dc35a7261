"""What to settle before contrast is given to somebody who has reacted to it.

All of it is from memory: no primary text was read, so nothing here ever looks quiet.
"""

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.history import ReactionOnset, ReactionSeverity
from coilwright.protocol import Basis, Citation, Limit, Protocol, advise

ALLERGY_PATHWAY_RULE = "contrast-allergy-pathway"
OF_REACTIONS = Citation(
    source="ESUR Contrast Media Safety Committee, version 10, and ACR manual on contrast media, "
    "hypersensitivity",
    status=Status.FROM_MEMORY,
)
STEROIDS = "change-agent-and-steroids"
BY_SEVERITY = {
    ReactionSeverity.MILD: "After a mild reaction: another agent than the one that caused it, and "
    "somebody at hand who can treat a reaction.",
    ReactionSeverity.MODERATE: "After a moderate reaction: an allergist's advice if time allows, "
    "another agent, and the team that treats anaphylaxis told beforehand.",
    ReactionSeverity.SEVERE: "After a severe reaction: an allergist's advice first; think of "
    "venography with carbon dioxide (not with a right-to-left shunt) or of another treatment, such "
    "as surgery. If contrast cannot be avoided: another agent, and the resuscitation team in the "
    "room.",
}
BY_ONSET = {
    ReactionOnset.ACUTE: "Acute reaction: watch the patient for longer after the injection.",
    ReactionOnset.LATE: "Late reaction: mostly of the skin; tell the patient what may come within "
    "days, and whom to call.",
}
NO_CONTRAST_ALLERGY = (
    "An allergy to seafood or to an iodine antiseptic is no contrast allergy: settle what the "
    "reaction was to."
)


def contrast_allergy_pathway(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """One advisory where a contrast allergy is recorded; nothing otherwise."""
    allergies = facts.allergies
    if not allergies.contrast:
        return ()
    severity, onset = allergies.contrast_reaction, allergies.contrast_reaction_onset
    recorded = {
        "contrast_agent": allergies.contrast_agent,
        "contrast_reaction": severity,
        "contrast_reaction_onset": onset,
    }
    missing = tuple(f"allergies.{key}" for key, answer in recorded.items() if answer is None)
    return (
        advise(
            rule=ALLERGY_PATHWAY_RULE,
            urgency=_urgency(severity),
            text=" ".join(_sentences(facts, protocol, missing)),
            basis=_basis(protocol),
            inputs={
                "agent": "not recorded" if allergies.contrast_agent is None else "recorded",
                "severity": "not recorded" if severity is None else severity.value,
                "onset": "not recorded" if onset is None else onset.value,
                "preparation": protocol.choice("contrast-premedication").value,
            },
            missing=missing,
        ),
    )


def _urgency(severity: ReactionSeverity | None) -> Urgency:
    """A reaction whose severity nobody recorded speaks as loudly as a severe one."""
    return Urgency.CAUTION if severity is ReactionSeverity.MILD else Urgency.STOP_AND_THINK


def _sentences(facts: Facts, protocol: Protocol, missing: tuple[str, ...]) -> list[str]:
    severity = facts.allergies.contrast_reaction
    onset = facts.allergies.contrast_reaction_onset
    sentences = ["Contrast allergy recorded: settle the pathway before the day."]
    if missing:
        sentences.append(f"Not recorded: {', '.join(missing)}.")
    if severity is not None:
        sentences.append(BY_SEVERITY[severity])
    else:
        sentences.append("Ask how severe it was: the pathway hangs on it.")
    if onset is not None:
        sentences.append(BY_ONSET[onset])
    return [*sentences, _premedication(protocol), NO_CONTRAST_ALLERGY]


def _premedication(protocol: Protocol) -> str:
    disagree = "The bodies disagree on steroids beforehand; the site"
    if protocol.choice("contrast-premedication").value != STEROIDS:
        return f"{disagree} changes the agent only."
    dose = protocol.limit("premedication-steroid-dose")
    hours = [limit.value for limit in _hours(protocol)]
    return (
        f"{disagree} changes the agent and gives prednisolone {dose.value:g} {dose.unit} by mouth "
        f"{hours[0]:g}, {hours[1]:g} and {hours[2]:g} h before (for adults; a child's dose is not "
        "held here)."
    )


def _hours(protocol: Protocol) -> tuple[Limit, ...]:
    return tuple(
        protocol.limit(f"premedication-{which}-before") for which in ("first", "second", "last")
    )


def _basis(protocol: Protocol) -> tuple[Basis, ...]:
    choice = protocol.choice("contrast-premedication")
    if choice.value != STEROIDS:
        return OF_REACTIONS, choice
    return OF_REACTIONS, choice, protocol.limit("premedication-steroid-dose"), *_hours(protocol)
