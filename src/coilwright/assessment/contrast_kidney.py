"""What kidney function means for giving contrast at all: saline before it, and metformin."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.assessment.kidney import EGFR_UNIT, KidneyFunction
from coilwright.protocol import Protocol, advise, louder

PROPHYLAXIS_RULE = "contrast-prophylaxis"
METFORMIN_RULE = "metformin-contrast"


def contrast_and_kidney(
    facts: Facts, kidney: KidneyFunction, protocol: Protocol
) -> tuple[Advisory, ...]:
    """Saline before contrast by the ACR and NKF consensus; metformin by ESUR."""
    return (_prophylaxis(facts, kidney, protocol), *_metformin(facts, kidney, protocol))


def _prophylaxis(facts: Facts, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    below = protocol.limit("egfr-prophylaxis-below")
    discretion = protocol.limit("egfr-discretion-below")
    injury, dialysis = facts.conditions.acute_kidney_injury, facts.conditions.dialysis
    missing = list(kidney.missing)
    missing += [] if injury is not None else ["conditions.acute_kidney_injury"]
    missing += [] if dialysis is not None else ["conditions.dialysis"]
    urgency, text, limit = _prophylaxis_words(
        kidney.egfr, bool(injury), bool(dialysis), (below.value, discretion.value)
    )
    if missing:
        urgency = louder(urgency, Urgency.CAUTION)
        text = f"{text} Not recorded: {', '.join(missing)}.".strip()
    return advise(
        rule=PROPHYLAXIS_RULE,
        urgency=urgency,
        text=text,
        basis=(below, discretion, *kidney.basis),
        value=kidney.egfr,
        limit=limit if kidney.egfr is not None else None,
        unit=EGFR_UNIT if kidney.egfr is not None else None,
        inputs=_inputs(kidney, injury, dialysis),
        missing=missing,
    )


def _prophylaxis_words(
    egfr: float | None, injury: bool, dialysis: bool, below: tuple[float, float]
) -> tuple[Urgency, str, float]:
    if dialysis:
        text = "On dialysis: saline before contrast is not advised; ask the kidney team."
        return Urgency.CAUTION, text, below[0]
    if injury or (egfr is not None and egfr < below[0]):
        why = "acute kidney injury" if injury else f"kidney function below {below[0]:g}"
        text = f"Intravenous saline before contrast is advised ({why})."
        return Urgency.STOP_AND_THINK, text, below[0]
    if egfr is None:
        return Urgency.CAUTION, "Whether saline before contrast is advised is unknown.", below[0]
    if egfr < below[1]:
        text = f"Kidney function {below[0]:g} to {below[1]:g}: saline is for individual decision."
        return Urgency.CAUTION, text, below[1]
    text = f"Kidney function of {below[1]:g} or more: saline before contrast is not indicated."
    return Urgency.INFO, text, below[1]


def _inputs(kidney: KidneyFunction, injury: bool | None, dialysis: bool | None) -> dict[str, str]:
    function = "not known" if kidney.egfr is None else f"{kidney.egfr:.1f} {EGFR_UNIT}"
    return {
        "kidney function": function,
        "acute kidney injury": said(injury),
        "dialysis": said(dialysis),
    }


def _metformin(facts: Facts, kidney: KidneyFunction, protocol: Protocol) -> tuple[Advisory, ...]:
    takes, stop = facts.medication.metformin, protocol.limit("metformin-stop-egfr-below")
    if takes is False:
        return ()
    injury = facts.conditions.acute_kidney_injury
    missing = list(kidney.missing) if takes else ["medication.metformin"]
    if injury or (kidney.egfr is not None and kidney.egfr < stop.value):
        urgency = Urgency.STOP_AND_THINK
        text = (
            f"Metformin is stopped from the time of contrast (kidney function below {stop.value:g} "
            "or acute kidney injury)."
        )
    elif takes and kidney.egfr is not None:
        urgency, text = (
            Urgency.INFO,
            f"Metformin may go on (kidney function {stop.value:g} or more).",
        )
    else:
        urgency, text = Urgency.CAUTION, "Metformin and contrast cannot be judged."
    if missing:
        urgency = louder(urgency, Urgency.CAUTION)
        text = f"{text} Not recorded: {', '.join(missing)}."
    return (
        advise(
            rule=METFORMIN_RULE,
            urgency=urgency,
            text=text,
            basis=(stop, *kidney.basis),
            value=kidney.egfr,
            limit=None if kidney.egfr is None else stop.value,
            unit=None if kidney.egfr is None else EGFR_UNIT,
            inputs={"metformin": said(takes), "acute kidney injury": said(injury)},
            missing=missing,
        ),
    )
