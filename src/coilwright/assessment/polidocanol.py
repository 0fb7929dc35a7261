"""Polidocanol: mass in the day, volume of foam, microfoam, local anaesthetic beside it."""

from collections.abc import Sequence

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.anaesthetic_shares import lidocaine_given_mg
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import SclerosantDrug, SclerosantGiven
from coilwright.assessment.other_anaesthetics import drugs_given, mass_given_mg
from coilwright.assessment.sclerosant_volume import (
    OFF_LABEL,
    doses_of,
    drawn_up_ml,
    known_mass_mg,
    largest_urgency,
    microfoam_ml,
    session_volume,
)
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Citation, Limit, Protocol, advise, louder
from coilwright.units import mg_per_ml_to_percent

POLIDOCANOL_MASS_RULE = "polidocanol-daily-max"
POLIDOCANOL_VOLUME_RULE = "polidocanol-session-max"
MICROFOAM_RULE = "polidocanol-microfoam-max"
JOINT_RULE = "polidocanol-with-local-anaesthetic"
LEAFLETS = Citation(
    source="package leaflets of sodium tetradecyl sulfate and lauromacrogol 400, cautions",
    status=Status.PUBLISHED,
)


def polidocanol_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Every ceiling of the label that the site follows, and the joint effect once it can arise."""
    doses = doses_of(SclerosantDrug.POLIDOCANOL, facts)
    return (
        *_by_label(facts, doses, protocol),
        *_microfoam(doses, protocol),
        *_joint_effect(facts, doses),
    )


def _by_label(
    facts: Facts, doses: Sequence[SclerosantGiven], protocol: Protocol
) -> tuple[Advisory, ...]:
    us = protocol.limit("polidocanol-us-session-maximum")
    foam = protocol.limit("polidocanol-foam-session-maximum")
    per_kg = protocol.limit("polidocanol-per-kg-day")
    if protocol.choice("polidocanol-label").value == "us-label":
        words = (
            f"Labels disagree: by the European leaflet {per_kg.value:g} mg/kg in the day and "
            f"{foam.value:g} mL as foam.",
        )
        return (_volume("Polidocanol", doses, doses, us, protocol, words),)
    by_hand = [dose for dose in doses if dose.gas_ml > 0]
    words = (f"Labels disagree: by the US label {us.value:g} mL of any form.",)
    return (
        _mass(facts, doses, protocol),
        _volume("Polidocanol as foam", by_hand, doses, foam, protocol, words),
    )


def _volume(
    what: str,
    counted: Sequence[SclerosantGiven],
    doses: Sequence[SclerosantGiven],
    limit: Limit,
    protocol: Protocol,
    words: tuple[str, ...],
) -> Advisory:
    """Ready-made microfoam has a ceiling of its own, and its share of that counts here."""
    microfoam_limit = protocol.limit("polidocanol-microfoam-session-maximum")
    given_ml = drawn_up_ml(counted)
    share = given_ml / limit.value + microfoam_ml(doses) / microfoam_limit.value
    return session_volume(
        rule=POLIDOCANOL_VOLUME_RULE,
        what=what,
        given_ml=given_ml,
        limit=limit,
        protocol=protocol,
        words=words,
        inputs={"ready-made microfoam": f"{microfoam_ml(doses):g} mL, not counted here"}
        if microfoam_ml(doses)
        else {},
        share=share if microfoam_ml(doses) else None,
    )


def _mass(facts: Facts, doses: Sequence[SclerosantGiven], protocol: Protocol) -> Advisory:
    per_kg, weight_kg = protocol.limit("polidocanol-per-kg-day"), facts.patient.weight_kg
    given_mg, ready_ml = known_mass_mg(doses), microfoam_ml(doses)
    inputs = {"given": f"{given_mg:g} mg"}
    if ready_ml:
        inputs["ready-made microfoam"] = f"{ready_ml:g} mL, mass not known"
    if weight_kg is None:
        return advise(
            rule=POLIDOCANOL_MASS_RULE,
            urgency=Urgency.CAUTION,
            text=f"The ceiling for polidocanol cannot be computed: not recorded: patient.weight. "
            f"{OFF_LABEL}",
            basis=(per_kg,),
            inputs=inputs,
            missing=("patient.weight",),
        )
    ceiling_mg = per_kg.value * weight_kg
    # With microfoam the known mass is only the least: beside a ceiling it would look satisfied.
    judged = not ready_ml or given_mg > ceiling_mg
    urgency = total_urgency(given_mg, ceiling_mg, protocol)
    return advise(
        rule=POLIDOCANOL_MASS_RULE,
        urgency=louder(urgency, Urgency.CAUTION) if ready_ml else urgency,
        text=_mass_words(facts, doses, ceiling_mg),
        basis=(per_kg,),
        value=given_mg if judged else None,
        limit=ceiling_mg if judged else None,
        left=left_of(given_mg, ceiling_mg) if judged else None,
        unit="mg" if judged else None,
        inputs={"weight": f"{weight_kg:g} kg", "ceiling": f"{ceiling_mg:.0f} mg", **inputs},
    )


def _mass_words(facts: Facts, doses: Sequence[SclerosantGiven], ceiling_mg: float) -> str:
    given_mg, ready_ml = known_mass_mg(doses), microfoam_ml(doses)
    start = f"Polidocanol: ceiling {ceiling_mg:.0f} mg{_in_ml(facts, doses, ceiling_mg)} in the day"
    if ready_ml:
        return (
            f"{start}; recorded as given at least {given_mg:g} mg: the mass in {ready_ml:g} mL of "
            f"ready-made microfoam is not known from its volume, so what is left is not known. "
            f"{OFF_LABEL}"
        )
    left_mg = left_of(given_mg, ceiling_mg)
    return (
        f"{start}; recorded as given {given_mg:g} mg, left {left_mg:.0f} mg"
        f"{_in_ml(facts, doses, left_mg)}. {OFF_LABEL}"
    )


def _in_ml(facts: Facts, doses: Sequence[SclerosantGiven], mass_mg: float) -> str:
    planned = facts.sclerosant
    strengths = {dose.strength_mg_per_ml for dose in doses if dose.liquid_ml > 0}
    if planned is not None and planned.drug is SclerosantDrug.POLIDOCANOL:
        strengths = {planned.strength_mg_per_ml}
    if len(strengths) != 1:
        return ""
    (strength,) = strengths
    return f" ({mass_mg / strength:.1f} mL of {mg_per_ml_to_percent(strength):g} %)"


def _microfoam(doses: Sequence[SclerosantGiven], protocol: Protocol) -> tuple[Advisory, ...]:
    total_ml = microfoam_ml(doses)
    if not total_ml:
        return ()
    one = protocol.limit("polidocanol-microfoam-injection-maximum")
    session = protocol.limit("polidocanol-microfoam-session-maximum")
    largest_ml = max(dose.microfoam_ml for dose in doses)
    return (
        advise(
            rule=MICROFOAM_RULE,
            urgency=louder(
                total_urgency(total_ml, session.value, protocol),
                largest_urgency(largest_ml, one.value, one.value),
            ),
            text=f"Ready-made polidocanol microfoam: at most {session.value:g} mL in the session, "
            f"recorded {total_ml:g} mL; at most {one.value:g} mL in one injection, the largest "
            f"recorded {largest_ml:g} mL. Its mass is not known from its volume. {OFF_LABEL}",
            basis=(one, session),
            value=total_ml,
            limit=session.value,
            unit="mL",
            inputs={"microfoam": f"{total_ml:g} mL", "largest injection": f"{largest_ml:g} mL"},
        ),
    )


def _joint_effect(facts: Facts, doses: Sequence[SclerosantGiven]) -> tuple[Advisory, ...]:
    lidocaine_mg = sum(lidocaine_given_mg(facts, adrenaline=flag) for flag in (False, True))
    masses = {"lidocaine": lidocaine_mg} if lidocaine_mg else {}
    masses |= {drug.value: mass_given_mg(drug, facts) for drug in drugs_given(facts)}
    if not masses:
        return ()
    inputs = {f"{name} given": f"{mass_mg:g} mg" for name, mass_mg in masses.items()}
    inputs["polidocanol given"] = f"{known_mass_mg(doses):g} mg"
    if microfoam_ml(doses):
        inputs["polidocanol microfoam given"] = f"{microfoam_ml(doses):g} mL, mass not known"
    return (
        advise(
            rule=JOINT_RULE,
            urgency=Urgency.CAUTION,
            text="Polidocanol is a local anaesthetic too: within 24 hours its effect on the heart "
            f"adds to that of {' and '.join(masses)}, and no ceiling for both together is "
            "published.",
            basis=(LEAFLETS,),
            inputs=inputs,
        ),
    )
