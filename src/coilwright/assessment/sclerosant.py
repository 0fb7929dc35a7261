"""How much sclerosant, by the label that the site follows, and who should not have foam.

No sclerosant is licensed for the gonadal vein; every advisory here says so. Foam is counted as
injected, liquid and gas together; the drug's mass is all in the liquid.
"""

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts, SclerosantDrug, SclerosantGiven
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Citation, Limit, Protocol, advise

STS_RULE = "sts-session-max"
POLIDOCANOL_MASS_RULE = "polidocanol-daily-max"
POLIDOCANOL_VOLUME_RULE = "polidocanol-session-max"
CAUTIONS_RULE = "sclerosant-cautions"
JOINT_RULE = "polidocanol-with-local-anaesthetic"
OFF_LABEL = "Off-label in the gonadal vein."
LEAFLETS = Citation(
    source="package leaflets of sodium tetradecyl sulfate and lauromacrogol 400, cautions",
    status=Status.PUBLISHED,
)


def sclerosant_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Ceilings of every drug that the case names; nothing where it names none."""
    drugs = {dose.drug for dose in facts.given.sclerosant}
    if facts.sclerosant is not None:
        drugs.add(facts.sclerosant.drug)
    advisories: list[Advisory] = []
    if SclerosantDrug.STS in drugs:
        advisories += _sts(facts, protocol)
    if SclerosantDrug.POLIDOCANOL in drugs:
        advisories += _polidocanol(facts, protocol)
    if drugs:
        advisories.append(_cautions(facts))
    return tuple(advisories)


def _doses(facts: Facts, drug: SclerosantDrug) -> list[SclerosantGiven]:
    return [dose for dose in facts.given.sclerosant if dose.drug is drug]


def _sts(facts: Facts, protocol: Protocol) -> list[Advisory]:
    doses = _doses(facts, SclerosantDrug.STS)
    if protocol.choice("sts-label").value == "us-label":
        limit = protocol.limit("sts-us-session-maximum")
        return [_volume(STS_RULE, "Sodium tetradecyl sulfate", doses, limit, protocol)]
    strong_from = protocol.limit("sts-uk-strong-from")
    by_form: dict[str, list[SclerosantGiven]] = {}
    for dose in doses:
        form = _uk_form(dose.strength_mg_per_ml, dose.gas_ml > 0, strong_from)
        by_form.setdefault(form, []).append(dose)
    planned = facts.sclerosant
    if planned is not None and planned.drug is SclerosantDrug.STS:
        by_form.setdefault(
            _uk_form(planned.strength_mg_per_ml, bool(planned.foam), strong_from), []
        )
    return [
        _volume(
            STS_RULE,
            f"Sodium tetradecyl sulfate ({form})",
            of_form,
            protocol.limit(f"sts-uk-{form}-session-maximum"),
            protocol,
        )
        for form, of_form in by_form.items()
    ]


def _uk_form(strength_mg_per_ml: float, foam: bool, strong_from: Limit) -> str:
    if foam:
        return "foam"
    return "strong" if strength_mg_per_ml >= strong_from.value else "weak"


def _polidocanol(facts: Facts, protocol: Protocol) -> list[Advisory]:
    doses = _doses(facts, SclerosantDrug.POLIDOCANOL)
    joint = [_joint_effect(facts, doses)] if facts.given.lidocaine else []
    if protocol.choice("polidocanol-label").value == "us-label":
        limit = protocol.limit("polidocanol-us-session-maximum")
        return [_volume(POLIDOCANOL_VOLUME_RULE, "Polidocanol", doses, limit, protocol), *joint]
    foam = [dose for dose in doses if dose.gas_ml > 0]
    limit = protocol.limit("polidocanol-foam-session-maximum")
    return [
        _polidocanol_mass(facts, doses, protocol),
        _volume(POLIDOCANOL_VOLUME_RULE, "Polidocanol as foam", foam, limit, protocol),
        *joint,
    ]


def _volume(
    rule: str, what: str, doses: list[SclerosantGiven], limit: Limit, protocol: Protocol
) -> Advisory:
    given_ml = sum((dose.injected_ml for dose in doses), 0.0)
    return advise(
        rule=rule,
        urgency=total_urgency(given_ml, limit.value, protocol),
        text=f"{what}: ceiling {limit.value:g} mL in the session; recorded as given "
        f"{given_ml:g} mL, left {left_of(given_ml, limit.value):g} mL. {OFF_LABEL}",
        basis=(limit,),
        value=given_ml,
        limit=limit.value,
        unit="mL",
        inputs={"given": f"{given_ml:g} mL"},
    )


def _polidocanol_mass(facts: Facts, doses: list[SclerosantGiven], protocol: Protocol) -> Advisory:
    per_kg, weight_kg = protocol.limit("polidocanol-per-kg-day"), facts.patient.weight_kg
    given_mg = sum((dose.mass_mg for dose in doses), 0.0)
    if weight_kg is None:
        return advise(
            rule=POLIDOCANOL_MASS_RULE,
            urgency=Urgency.CAUTION,
            text=f"The ceiling for polidocanol cannot be computed: not recorded: patient.weight. "
            f"{OFF_LABEL}",
            basis=(per_kg,),
            inputs={"given": f"{given_mg:g} mg"},
            missing=("patient.weight",),
        )
    ceiling_mg = per_kg.value * weight_kg
    return advise(
        rule=POLIDOCANOL_MASS_RULE,
        urgency=total_urgency(given_mg, ceiling_mg, protocol),
        text=f"Polidocanol: ceiling {ceiling_mg:.0f} mg in the day; recorded as given "
        f"{given_mg:g} mg, left {left_of(given_mg, ceiling_mg):.0f} mg. {OFF_LABEL}",
        basis=(per_kg,),
        value=given_mg,
        limit=ceiling_mg,
        unit="mg",
        inputs={"weight": f"{weight_kg:g} kg", "given": f"{given_mg:g} mg"},
    )


def _joint_effect(facts: Facts, doses: list[SclerosantGiven]) -> Advisory:
    given_mg = sum((dose.mass_mg for dose in doses), 0.0)
    return advise(
        rule=JOINT_RULE,
        urgency=Urgency.CAUTION,
        text="Polidocanol is a local anaesthetic too: within 24 hours its effect on the heart adds "
        "to that of lidocaine, and no ceiling for both together is published.",
        basis=(LEAFLETS,),
        inputs={
            "lidocaine given": f"{facts.given.lidocaine_mg:g} mg",
            "polidocanol given": f"{given_mg:g} mg",
        },
    )


def _cautions(facts: Facts) -> Advisory:
    conditions = facts.conditions
    asked = {
        "right-to-left shunt": conditions.right_to_left_shunt,
        "stroke or TIA": conditions.stroke_or_tia,
        "migraine": conditions.migraine,
        "pulmonary hypertension": conditions.pulmonary_hypertension,
        "high risk of thrombosis": conditions.thrombosis_risk,
        "allergy to the sclerosant": facts.allergies.sclerosant,
    }
    present = [name for name, answer in asked.items() if answer]
    unasked = [name for name, answer in asked.items() if answer is None]
    parts = [f"Recorded: {', '.join(present)}." if present else ""]
    parts.append(f"Not recorded: {', '.join(unasked)}." if unasked else "")
    words = " ".join(filter(None, parts)) or "None of the leaflets' cautions is recorded."
    return advise(
        rule=CAUTIONS_RULE,
        urgency=_cautions_urgency(present, unasked),
        text=f"Cautions for sclerosant, above all as foam. {words}",
        basis=(LEAFLETS,),
        inputs={name: said(answer) for name, answer in asked.items()},
        missing=unasked,
    )


def _cautions_urgency(present: list[str], unasked: list[str]) -> Urgency:
    if present:
        return Urgency.STOP_AND_THINK
    return Urgency.CAUTION if unasked else Urgency.INFO
