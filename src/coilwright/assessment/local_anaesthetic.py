"""How much local anaesthetic: the ceilings, what was given, what is left.

Masses of lidocaine are of the hydrochloride, in which strengths are labelled. All agents share one
patient: each dose uses up its share of its own ceiling, and the shares add up.
"""

from collections.abc import Sequence

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.anaesthetic_shares import (
    AgentUse,
    agents_given,
    basis_of,
    joint_anaesthetic_total,
    known_share,
    lidocaine_given_mg,
    missing_of,
    unknown_agents,
)
from coilwright.assessment.cut_offs import above
from coilwright.assessment.facts import Facts
from coilwright.assessment.lidocaine_ceiling import (
    LABEL_WORDS,
    Ceiling,
    lidocaine_base_mg,
    lidocaine_ceiling,
    other_labels,
)
from coilwright.assessment.other_anaesthetics import other_anaesthetic_totals
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Limit, Protocol, advise, louder
from coilwright.units import mg_per_ml_to_percent

PLAIN_RULE = "lidocaine-plain-max"
ADRENALINE_RULE = "lidocaine-adrenaline-max"


def local_anaesthetic_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Lidocaine always, the other agents once given, and all together once there are two."""
    return (
        *lidocaine_totals(facts, protocol),
        *other_anaesthetic_totals(facts, protocol),
        *joint_anaesthetic_total(facts, protocol),
    )


def lidocaine_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Ceiling, given and left, for lidocaine without and with adrenaline.

    What is left takes account of every other agent that was given.
    """
    uses = agents_given(facts, protocol)
    return tuple(_total(facts, protocol, adrenaline, uses) for adrenaline in (False, True))


def _total(
    facts: Facts, protocol: Protocol, adrenaline: bool, uses: Sequence[AgentUse]
) -> Advisory:
    ceiling = lidocaine_ceiling(facts, protocol, adrenaline=adrenaline)
    missing = tuple(dict.fromkeys((*ceiling.missing, *missing_of(uses))))
    return advise(
        rule=ADRENALINE_RULE if adrenaline else PLAIN_RULE,
        urgency=_urgency(ceiling, missing, uses, facts, protocol, adrenaline),
        text=" ".join(
            (*_sentences(facts, protocol, adrenaline, ceiling, uses), *_unrecorded(missing))
        ),
        basis=_basis(ceiling, uses),
        value=lidocaine_given_mg(facts, adrenaline=adrenaline),
        limit=ceiling.mass_mg,
        left=_left_mg(ceiling.mass_mg, uses),
        unit="mg",
        inputs=_inputs(facts, protocol, adrenaline, ceiling, uses),
        missing=missing,
    )


def _basis(ceiling: Ceiling, uses: Sequence[AgentUse]) -> tuple[Limit, ...]:
    """What is left rests on the ceilings of all that was given, not on this one alone."""
    return tuple(dict.fromkeys((*ceiling.basis, *basis_of(uses))))


def _urgency(
    ceiling: Ceiling,
    missing: tuple[str, ...],
    uses: Sequence[AgentUse],
    facts: Facts,
    protocol: Protocol,
    adrenaline: bool,
) -> Urgency:
    """It stops for its own doses; for all agents together local-anaesthetic-joint-max stops."""
    doubtful = ceiling.doubtful or any(use.ceiling.doubtful for use in uses)
    unsure = bool(missing) or doubtful or bool(unknown_agents(uses)) or ceiling.mass_mg is None
    quiet = Urgency.CAUTION if unsure else Urgency.INFO
    total = total_urgency(known_share(uses), 1.0, protocol)
    own_mg = lidocaine_given_mg(facts, adrenaline=adrenaline)
    if ceiling.mass_mg is not None and not above(own_mg, ceiling.mass_mg):
        total = Urgency.CAUTION if total is Urgency.STOP_AND_THINK else total
    return louder(quiet, total)


def _sentences(
    facts: Facts, protocol: Protocol, adrenaline: bool, ceiling: Ceiling, uses: Sequence[AgentUse]
) -> tuple[str, ...]:
    kind = "with adrenaline" if adrenaline else "without adrenaline"
    words = (ceiling.words,) if ceiling.words else ()
    disagree = _other_sources(facts, protocol, adrenaline, ceiling)
    given = f"Recorded as given {facts.given.lidocaine_mg:g} mg in all."
    if ceiling.mass_mg is None:
        return f"The ceiling for lidocaine {kind} cannot be computed.", given, *words, disagree
    label = LABEL_WORDS[protocol.choice("lidocaine-label").value]
    return (
        f"Lidocaine {kind}: ceiling {ceiling.mass_mg:.0f} mg{_in_ml(facts, ceiling.mass_mg)} "
        f"by the {label}.",
        given,
        _left(facts, ceiling.mass_mg, uses),
        *words,
        disagree,
    )


def _other_sources(facts: Facts, protocol: Protocol, adrenaline: bool, ceiling: Ceiling) -> str:
    others = other_labels(facts, protocol, adrenaline=adrenaline)
    own = None if ceiling.mass_mg is None else f"{ceiling.mass_mg:.0f} mg"
    masses = {mass.partition(",")[0] for mass in others.values()}
    start = "Other sources agree" if masses == {own} else "Sources disagree"
    return f"{start}: {'; '.join(f'{name}, {mass}' for name, mass in others.items())}."


def _left(facts: Facts, ceiling_mg: float, uses: Sequence[AgentUse]) -> str:
    unknown = unknown_agents(uses)
    others = any(not use.name.startswith("lidocaine") for use in uses)
    after = " after the shares of the other local anaesthetics" if others else ""
    left_mg = _left_mg(ceiling_mg, uses)
    if left_mg is None:
        return f"What is left cannot be computed: the share of {', '.join(unknown)} is not known."
    return f"Left {left_mg:.0f} mg{_in_ml(facts, left_mg)}{after}."


def _left_mg(ceiling_mg: float | None, uses: Sequence[AgentUse]) -> float | None:
    """What all agents together have left of this one's ceiling; None where a share is unknown."""
    share = known_share(uses)
    if ceiling_mg is None or (unknown_agents(uses) and share < 1.0):
        return None
    return left_of(share, 1.0) * ceiling_mg


def _unrecorded(missing: tuple[str, ...]) -> tuple[str, ...]:
    return (f"Not recorded: {', '.join(missing)}.",) if missing else ()


def _strength_mg_per_ml(facts: Facts) -> float | None:
    if facts.anaesthetic is not None:
        return facts.anaesthetic.strength_mg_per_ml
    strengths = {dose.strength_mg_per_ml for dose in facts.given.lidocaine}
    return strengths.pop() if len(strengths) == 1 else None


def _ml_of_strength(facts: Facts, mass_mg: float) -> str | None:
    strength = _strength_mg_per_ml(facts)
    if strength is None:
        return None
    return f"{mass_mg / strength:.1f} mL of {mg_per_ml_to_percent(strength):g} %"


def _in_ml(facts: Facts, mass_mg: float) -> str:
    words = _ml_of_strength(facts, mass_mg)
    return " (strength in use not recorded, so no mL)" if words is None else f" ({words})"


def _inputs(
    facts: Facts, protocol: Protocol, adrenaline: bool, ceiling: Ceiling, uses: Sequence[AgentUse]
) -> dict[str, str]:
    weight_kg, given_mg = facts.patient.weight_kg, lidocaine_given_mg(facts, adrenaline=adrenaline)
    found = {
        "weight": "not recorded" if weight_kg is None else f"{weight_kg:g} kg",
        "given": f"{given_mg:g} mg",
        "given, as base": f"{lidocaine_base_mg(given_mg, protocol):.2f} mg",
        "strengths and masses": "of lidocaine hydrochloride",
        "label": protocol.choice("lidocaine-label").value,
    }
    if ceiling.mass_mg is not None:
        found["ceiling in mL"] = _ml_of_strength(facts, ceiling.mass_mg) or "strength not recorded"
    used_percent = 100.0 * known_share(uses)
    at_least = "at least " if unknown_agents(uses) else ""
    return {**found, "used up by all local anaesthetics": f"{at_least}{used_percent:.0f} %"}
