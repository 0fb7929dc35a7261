"""How much lidocaine: the ceiling by the label that the site follows, what was given, what is left.

Masses are of lidocaine hydrochloride, in which strengths are labelled. Plain and with adrenaline
share one patient: each dose uses up its share of its own ceiling, and the shares add up.
"""

from dataclasses import dataclass

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.dosing_weight import DosingWeight, dosing_weight
from coilwright.assessment.facts import Facts
from coilwright.assessment.totals import total_urgency
from coilwright.protocol import Limit, Protocol, advise, louder
from coilwright.units import mg_per_ml_to_percent

PLAIN_RULE = "lidocaine-plain-max"
ADRENALINE_RULE = "lidocaine-adrenaline-max"
LABEL_WORDS = {"us-label": "US label", "bnf": "British National Formulary"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """The most that may be given in all, in mg; None where something is missing for it."""

    mass_mg: float | None
    basis: tuple[Limit, ...]
    missing: tuple[str, ...] = ()
    words: str = ""


def lidocaine_ceiling_mg(
    *, per_kg_mg: float | None, maximum_mg: float, weight_kg: float | None
) -> float | None:
    """Ceiling in mg: per body weight, never above the maximum; None where the weight is missing.

    References
    ----------
    US prescribing information, lidocaine hydrochloride: 4.5 mg/kg and 300 mg plain, 7 mg/kg and
    500 mg with adrenaline. British National Formulary: 200 mg and 500 mg, not per weight.

    Examples
    --------
    >>> lidocaine_ceiling_mg(per_kg_mg=4.5, maximum_mg=300, weight_kg=50)
    225.0
    """
    if per_kg_mg is None:
        return maximum_mg
    return None if weight_kg is None else min(per_kg_mg * weight_kg, maximum_mg)


def lidocaine_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Ceiling, given and left, for lidocaine without and with adrenaline."""
    ceilings = {flag: _ceiling(facts, protocol, adrenaline=flag) for flag in (False, True)}
    used = [_share(facts, ceiling.mass_mg, flag) for flag, ceiling in ceilings.items()]
    share = None if None in used else sum(part for part in used if part is not None)
    return tuple(
        _total(facts, protocol, flag, ceiling, share) for flag, ceiling in ceilings.items()
    )


def _ceiling(facts: Facts, protocol: Protocol, *, adrenaline: bool) -> Ceiling:
    per_kg, maximum = _label_limits(protocol, adrenaline)
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    child_below = protocol.limit("lidocaine-child-age-below")
    weight = dosing_weight(facts, protocol, age)
    mass_mg = lidocaine_ceiling_mg(
        per_kg_mg=None if per_kg is None else per_kg.value,
        maximum_mg=maximum.value,
        weight_kg=weight.weight_kg,
    )
    basis: tuple[Limit, ...] = (maximum,) if per_kg is None else (per_kg, maximum, *weight.basis)
    missing, words = (weight.missing, weight.words) if per_kg is not None else ((), "")
    if age is None:
        missing = (*missing, "patient.birth_date")
        words = f"{words} In a child less holds.".strip()
    elif age < child_below.value:
        return _child_ceiling(mass_mg, basis, weight, protocol)
    return Ceiling(mass_mg=mass_mg, basis=basis, missing=missing, words=words)


def _child_ceiling(
    mass_mg: float | None, basis: tuple[Limit, ...], weight: DosingWeight, protocol: Protocol
) -> Ceiling:
    per_kg = protocol.limit("lidocaine-child-per-kg")
    basis = (*basis, per_kg, protocol.limit("lidocaine-child-age-below"))
    if weight.weight_kg is None or mass_mg is None:
        return Ceiling(mass_mg=None, basis=basis, missing=("patient.weight",))
    return Ceiling(
        mass_mg=min(mass_mg, per_kg.value * weight.weight_kg),
        basis=basis,
        missing=weight.missing,
        words=f"In a child no more than {per_kg.value:g} mg/kg.",
    )


def _label_limits(protocol: Protocol, adrenaline: bool) -> tuple[Limit | None, Limit]:
    kind = "adrenaline" if adrenaline else "plain"
    if protocol.choice("lidocaine-label").value == "bnf":
        return None, protocol.limit(f"lidocaine-bnf-{kind}-maximum")
    return (
        protocol.limit(f"lidocaine-us-{kind}-per-kg"),
        protocol.limit(f"lidocaine-us-{kind}-maximum"),
    )


def _given_mg(facts: Facts, adrenaline: bool) -> float:
    doses = (d.mass_mg for d in facts.given.lidocaine if d.adrenaline == adrenaline)
    return sum(doses, 0.0)


def _share(facts: Facts, ceiling_mg: float | None, adrenaline: bool) -> float | None:
    given_mg = _given_mg(facts, adrenaline)
    if given_mg == 0:
        return 0.0
    return None if ceiling_mg is None else given_mg / ceiling_mg


def _total(
    facts: Facts, protocol: Protocol, adrenaline: bool, ceiling: Ceiling, used_share: float | None
) -> Advisory:
    kind = "with adrenaline" if adrenaline else "without adrenaline"
    given_mg = _given_mg(facts, adrenaline)
    urgency = Urgency.CAUTION if ceiling.missing or used_share is None else Urgency.INFO
    if used_share is not None:
        urgency = louder(urgency, total_urgency(used_share, 1.0, protocol))
    return advise(
        rule=ADRENALINE_RULE if adrenaline else PLAIN_RULE,
        urgency=urgency,
        text=" ".join(filter(None, _sentences(facts, protocol, kind, ceiling, used_share))),
        basis=ceiling.basis,
        value=given_mg,
        limit=ceiling.mass_mg,
        unit="mg",
        inputs=_inputs(facts, protocol, given_mg),
        missing=ceiling.missing,
    )


def _sentences(
    facts: Facts, protocol: Protocol, kind: str, ceiling: Ceiling, used_share: float | None
) -> tuple[str, ...]:
    label = protocol.choice("lidocaine-label")
    unknown = f"Not recorded: {', '.join(ceiling.missing)}." if ceiling.missing else ""
    if ceiling.mass_mg is None:
        return f"The ceiling for lidocaine {kind} cannot be computed.", unknown
    left_mg = None if used_share is None else max(1.0 - used_share, 0.0) * ceiling.mass_mg
    return (
        f"Lidocaine {kind}: ceiling {ceiling.mass_mg:.0f} mg{_in_ml(facts, ceiling.mass_mg)} "
        f"by the {LABEL_WORDS[label.value]}.",
        f"Recorded as given {facts.given.lidocaine_mg:g} mg in all.",
        "" if left_mg is None else f"Left {left_mg:.0f} mg{_in_ml(facts, left_mg)}.",
        ceiling.words,
        f"Sources disagree: {label.source}.",
        unknown,
    )


def _strength_mg_per_ml(facts: Facts) -> float | None:
    if facts.anaesthetic is not None:
        return facts.anaesthetic.strength_mg_per_ml
    strengths = {dose.strength_mg_per_ml for dose in facts.given.lidocaine}
    return strengths.pop() if len(strengths) == 1 else None


def _in_ml(facts: Facts, mass_mg: float) -> str:
    strength = _strength_mg_per_ml(facts)
    if strength is None:
        return " (strength in use not recorded, so no mL)"
    return f" ({mass_mg / strength:.1f} mL of {mg_per_ml_to_percent(strength):g} %)"


def _inputs(facts: Facts, protocol: Protocol, given_mg: float) -> dict[str, str]:
    weight_kg = facts.patient.weight_kg
    return {
        "weight": "not recorded" if weight_kg is None else f"{weight_kg:g} kg",
        "given": f"{given_mg:g} mg",
        "label": protocol.choice("lidocaine-label").value,
    }
