"""Several local anaesthetics in one patient: each uses up its share of its own ceiling.

The shares add up to at most the whole. That is a habit of the trade without a source: toxicity is
held to add up between agents.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.lidocaine_ceiling import Ceiling, lidocaine_ceiling
from coilwright.assessment.other_anaesthetics import drugs_given, mass_given_mg, other_ceiling
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import COMMON_PRACTICE, Limit, Protocol, advise, louder

JOINT_RULE = "local-anaesthetic-joint-max"
WHOLE_PERCENT = 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AgentUse:
    """What was given of one agent beside its own ceiling."""

    name: str
    given_mg: float
    ceiling: Ceiling

    @property
    def share(self) -> float | None:
        """Part of its ceiling that is used up; None where the ceiling is not known."""
        if self.ceiling.mass_mg is None:
            return None
        return self.given_mg / self.ceiling.mass_mg


def agents_given(facts: Facts, protocol: Protocol) -> tuple[AgentUse, ...]:
    """Every agent of which anything was given; lidocaine with adrenaline counts as its own."""
    lidocaine = [
        AgentUse(
            name=f"lidocaine {'with' if adrenaline else 'without'} adrenaline",
            given_mg=lidocaine_given_mg(facts, adrenaline=adrenaline),
            ceiling=lidocaine_ceiling(facts, protocol, adrenaline=adrenaline),
        )
        for adrenaline in (False, True)
    ]
    others = [
        AgentUse(
            name=drug.value,
            given_mg=mass_given_mg(drug, facts),
            ceiling=other_ceiling(drug, facts, protocol),
        )
        for drug in drugs_given(facts)
    ]
    return tuple(use for use in (*lidocaine, *others) if use.given_mg > 0)


def lidocaine_given_mg(facts: Facts, *, adrenaline: bool) -> float:
    """What was given of one kind of lidocaine, in mg of the hydrochloride."""
    doses = (d.mass_mg for d in facts.given.lidocaine if d.adrenaline == adrenaline)
    return sum(doses, 0.0)


def known_share(uses: Sequence[AgentUse]) -> float:
    """Sum of the shares that are known: the least that is used up, as a part of one."""
    return sum((use.share for use in uses if use.share is not None), 0.0)


def unknown_agents(uses: Sequence[AgentUse]) -> tuple[str, ...]:
    """The agents whose share cannot be computed."""
    return tuple(use.name for use in uses if use.share is None)


def basis_of(uses: Sequence[AgentUse]) -> tuple[Limit, ...]:
    """The limits that the shares rest on."""
    return tuple(dict.fromkeys(limit for use in uses for limit in use.ceiling.basis))


def missing_of(uses: Sequence[AgentUse]) -> tuple[str, ...]:
    """What is not recorded and bears on the shares."""
    return tuple(dict.fromkeys(key for use in uses for key in use.ceiling.missing))


def joint_anaesthetic_total(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The shares of all agents together, once two or more were given."""
    uses = agents_given(facts, protocol)
    if len(uses) < 2:
        return ()
    used_percent, unknown = WHOLE_PERCENT * known_share(uses), unknown_agents(uses)
    missing = missing_of(uses)
    doubtful = any(use.ceiling.doubtful for use in uses)
    urgency = Urgency.CAUTION if unknown or missing or doubtful else Urgency.INFO
    complete = not unknown or used_percent > WHOLE_PERCENT
    return (
        advise(
            rule=JOINT_RULE,
            urgency=louder(urgency, total_urgency(used_percent, WHOLE_PERCENT, protocol)),
            text=_joint_words(used_percent, unknown, missing),
            basis=(COMMON_PRACTICE, *basis_of(uses)),
            value=used_percent if complete else None,
            limit=WHOLE_PERCENT if complete else None,
            left=left_of(used_percent, WHOLE_PERCENT) if complete else None,
            unit="%" if complete else None,
            inputs={use.name: _share_words(use) for use in uses},
            missing=missing,
        ),
    )


def _joint_words(used_percent: float, unknown: tuple[str, ...], missing: tuple[str, ...]) -> str:
    at_least = "at least " if unknown else ""
    words = [
        f"Local anaesthetics together have used up {at_least}{used_percent:.0f} % of what their "
        "ceilings allow, each counted as a share of its own."
    ]
    if unknown:
        words.append(f"The share of {', '.join(unknown)} cannot be computed.")
    else:
        words.append(f"Left {left_of(used_percent, WHOLE_PERCENT):.0f} %.")
    words.append("That shares add up is common practice, without a source.")
    if missing:
        words.append(f"Not recorded: {', '.join(missing)}.")
    return " ".join(words)


def _share_words(use: AgentUse) -> str:
    if use.share is None or use.ceiling.mass_mg is None:
        return f"{use.given_mg:g} mg, ceiling not known"
    return f"{use.given_mg:g} mg of {use.ceiling.mass_mg:.0f} mg, {WHOLE_PERCENT * use.share:.0f} %"
