"""Foam: how much gas to how much liquid, and how much foam in one session."""

import math
from collections.abc import Sequence

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.foam import (
    SAME_RATIO,
    Foam,
    foam_mean_mg_per_ml,
    foam_volume_ml,
    given_foams,
    planned_foam,
    same_foam,
)
from coilwright.assessment.given import SclerosantGiven
from coilwright.assessment.sclerosant_volume import OFF_LABEL
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Citation, Limit, Protocol, advise
from coilwright.units import mg_per_ml_to_percent

FOAM_RATIO_RULE = "sclerosant-foam-ratio"
FOAM_GUIDELINE_RULE = "foam-guideline-max"
NOT_COVERED = Citation(
    source="German S2k guideline on sclerotherapy (PMC8692296): varicocele is not covered",
    status=Status.PUBLISHED,
)


def sclerosant_foam(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Every ratio that was given or is planned, and the session's foam beside the guideline."""
    given, planned = given_foams(facts.given.sclerosant), planned_foam(facts)
    new = [] if planned is None or any(same_foam(foam, planned) for foam in given) else [planned]
    return (
        *(_ratio(foam, protocol) for foam in (*given, *new)),
        *_ratio_not_recorded(facts, protocol),
        *_guideline(facts, protocol),
    )


def _ratio(foam: Foam, protocol: Protocol) -> Advisory:
    usual = protocol.limit("foam-gas-per-liquid-usual")
    least = protocol.limit("foam-gas-per-liquid-least")
    most = protocol.limit("foam-gas-per-liquid-most")
    ratio = foam.gas_per_liquid
    basis: tuple[Limit, ...] = (usual,)
    words, urgency = f"as usual (1 + {usual.value:g})", Urgency.INFO
    if not math.isclose(ratio, usual.value, rel_tol=SAME_RATIO):
        inside = least.value <= ratio <= most.value
        urgency = Urgency.INFO if inside else Urgency.CAUTION
        words = (
            f"usual is 1 + {usual.value:g}; {'inside' if inside else 'outside'} the range of "
            f"1 + {least.value:g} to 1 + {most.value:g}"
        )
        basis = (usual, least, most)
    return advise(
        rule=FOAM_RATIO_RULE,
        urgency=urgency,
        text=f"{_foam_words(foam)} Liquid to gas 1 + {ratio:.4g}: {words}. {OFF_LABEL}",
        basis=basis,
        value=ratio,
        unit="mL of gas per mL of liquid",
        inputs=_foam_inputs(foam),
    )


def _foam_words(foam: Foam) -> str:
    name = foam.drug.value.replace("-", " ").capitalize()
    strength = f"{mg_per_ml_to_percent(foam.strength_mg_per_ml):g} %"
    mean = foam_mean_mg_per_ml(foam.strength_mg_per_ml, foam.gas_per_liquid)
    if foam.liquid_ml is None:
        foam_ml = foam_volume_ml(1.0, foam.gas_per_liquid)
        return (
            f"{name} as planned: each mL of {strength} makes {foam_ml:.4g} mL of foam with "
            f"{foam.strength_mg_per_ml:g} mg of drug, {mean:.4g} mg/mL on average."
        )
    foam_ml = foam_volume_ml(foam.liquid_ml, foam.gas_per_liquid)
    return (
        f"{name}: {foam.liquid_ml:g} mL of {strength} and {foam_ml - foam.liquid_ml:.4g} mL of gas "
        f"make {foam_ml:.4g} mL of foam with {foam.strength_mg_per_ml * foam.liquid_ml:g} mg of "
        f"drug, {mean:.4g} mg/mL on average."
    )


def _foam_inputs(foam: Foam) -> dict[str, str]:
    mean = foam_mean_mg_per_ml(foam.strength_mg_per_ml, foam.gas_per_liquid)
    found = {
        "strength of the liquid": f"{mg_per_ml_to_percent(foam.strength_mg_per_ml):g} %",
        "mean strength of the foam": f"{mean:.4g} mg/mL",
    }
    if foam.liquid_ml is None:
        return found
    foam_ml = foam_volume_ml(foam.liquid_ml, foam.gas_per_liquid)
    return {
        "liquid": f"{foam.liquid_ml:g} mL",
        "gas": f"{foam_ml - foam.liquid_ml:.4g} mL",
        "foam": f"{foam_ml:.4g} mL",
        "mass": f"{foam.strength_mg_per_ml * foam.liquid_ml:g} mg",
        **found,
    }


def _ratio_not_recorded(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    planned = facts.sclerosant
    if planned is None or not planned.foam or planned.gas_per_liquid is not None:
        return ()
    if any(dose.gas_ml > 0 or dose.microfoam_ml > 0 for dose in facts.given.sclerosant):
        return ()
    usual, key = protocol.limit("foam-gas-per-liquid-usual"), "procedure.sclerosant.gas_per_liquid"
    return (
        advise(
            rule=FOAM_RATIO_RULE,
            urgency=Urgency.CAUTION,
            text=f"Foam is planned, its ratio of gas to liquid is not: not recorded: {key}. "
            f"Usual is 1 + {usual.value:g}. {OFF_LABEL}",
            basis=(usual,),
            missing=(key,),
        ),
    )


def _guideline(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    foam_ml, planned = _foam_ml(facts.given.sclerosant), facts.sclerosant
    is_planned = planned is not None and (bool(planned.foam) or planned_foam(facts) is not None)
    if not foam_ml and not is_planned:
        return ()
    limit = protocol.limit("foam-guideline-session-maximum")
    return (
        advise(
            rule=FOAM_GUIDELINE_RULE,
            urgency=_no_stop(total_urgency(foam_ml, limit.value, protocol)),
            text=_guideline_words(foam_ml, limit),
            basis=(limit, NOT_COVERED),
            value=foam_ml,
            limit=limit.value,
            left=left_of(foam_ml, limit.value),
            unit="mL",
            inputs={"foam of every kind": f"{foam_ml:g} mL"},
        ),
    )


def _no_stop(urgency: Urgency) -> Urgency:
    """An extrapolated figure that allows more case by case; the label's own ceiling stops."""
    return Urgency.CAUTION if urgency is Urgency.STOP_AND_THINK else urgency


def _foam_ml(doses: Sequence[SclerosantGiven]) -> float:
    return sum((d.injected_ml for d in doses if d.gas_ml > 0 or d.microfoam_ml > 0), 0.0)


def _guideline_words(foam_ml: float, limit: Limit) -> str:
    return (
        f"Foam of every kind: {limit.value:g} mL in the session in routine cases by the European "
        "guidelines, more by individual assessment; recorded as given "
        f"{foam_ml:g} mL, left {left_of(foam_ml, limit.value):g} mL. "
        "An extrapolation: they are for veins of the leg, and the German guideline says that "
        f"varicocele is not covered. {OFF_LABEL}"
    )
