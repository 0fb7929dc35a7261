"""One volume of sclerosant beside its ceiling for the session; liquid and gas count together."""

from collections.abc import Mapping, Sequence

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import SclerosantDrug, SclerosantGiven
from coilwright.assessment.totals import left_of, total_urgency
from coilwright.protocol import Limit, Protocol, advise, louder

OFF_LABEL = "Off-label in the gonadal vein."


def doses_of(drug: SclerosantDrug, facts: Facts) -> tuple[SclerosantGiven, ...]:
    """Every injection of one drug, in the order in which it was recorded."""
    return tuple(dose for dose in facts.given.sclerosant if dose.drug is drug)


def drawn_up_ml(doses: Sequence[SclerosantGiven]) -> float:
    """Liquid and the gas it was foamed with, in mL, without foam that came ready made."""
    return sum((dose.liquid_ml + dose.gas_ml for dose in doses), 0.0)


def known_mass_mg(doses: Sequence[SclerosantGiven]) -> float:
    """Mass of the drug in mg, all of it in the liquid; ready-made foam adds an unknown mass."""
    return sum((dose.mass_mg for dose in doses), 0.0)


def microfoam_ml(doses: Sequence[SclerosantGiven]) -> float:
    """Foam that came ready made, in mL."""
    return sum((dose.microfoam_ml for dose in doses), 0.0)


def session_volume(
    *,
    rule: str,
    what: str,
    given_ml: float,
    limit: Limit,
    protocol: Protocol,
    words: Sequence[str] = (),
    inputs: Mapping[str, str] | None = None,
    share: float | None = None,
) -> Advisory:
    """A session's volume beside its ceiling.

    ``share`` is what all forms of the drug together have used up, as a part of one, where there is
    more than this form: several forms may each stay below their ceilings and pass the whole
    together.
    """
    left_ml = left_of(given_ml, limit.value)
    if share is not None:
        left_ml = min(left_ml, left_of(share, 1.0) * limit.value)
    together = Urgency.INFO if share is None else total_urgency(share, 1.0, protocol)
    over = "All forms together pass the whole, each as a share of its ceiling."
    text = (
        f"{what}: ceiling {limit.value:g} mL in the session; recorded as given {given_ml:g} mL, "
        f"left {left_ml:.3g} mL.",
        "" if share is None or share <= 1.0 or given_ml > limit.value else over,
        *words,
        OFF_LABEL,
    )
    return advise(
        rule=rule,
        urgency=louder(total_urgency(given_ml, limit.value, protocol), together),
        text=" ".join(filter(None, text)),
        basis=(limit,),
        value=given_ml,
        limit=limit.value,
        left=left_ml,
        unit="mL",
        inputs={"given": f"{given_ml:g} mL", **(inputs or {})},
    )


def largest_urgency(largest_ml: float, preferred_ml: float, maximum_ml: float) -> Urgency:
    """How loudly the largest single injection speaks."""
    if largest_ml > maximum_ml:
        return Urgency.STOP_AND_THINK
    return Urgency.CAUTION if largest_ml > preferred_ml else Urgency.INFO
