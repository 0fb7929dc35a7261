"""What kidney function means for giving contrast at all: saline before it, and metformin."""

from dataclasses import dataclass

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.answers import said
from coilwright.assessment.facts import Facts
from coilwright.assessment.kidney import EGFR_UNIT, KidneyFunction
from coilwright.protocol import Limit, Protocol, advise, louder

PROPHYLAXIS_RULE = "contrast-prophylaxis"
METFORMIN_RULE = "metformin-contrast"


SECOND_PASS = (
    "Contrast in gonadal and renal veins reaches the kidneys' arteries by way of heart and lungs: "
    "second pass."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Thresholds:
    """Below ``at_risk`` the kidney is protected; from there to ``discretion`` somebody decides."""

    at_risk: Limit
    discretion: Limit | None
    words: str
    beside: str

    @property
    def basis(self) -> tuple[Limit, ...]:
        return (self.at_risk,) if self.discretion is None else (self.at_risk, self.discretion)


def contrast_and_kidney(
    facts: Facts, kidney: KidneyFunction, protocol: Protocol
) -> tuple[Advisory, ...]:
    """Saline before contrast by the rule that the site follows; metformin by ESUR."""
    return (_prophylaxis(facts, kidney, protocol), *_metformin(facts, kidney, protocol))


def _thresholds(protocol: Protocol) -> _Thresholds:
    below = protocol.limit("egfr-prophylaxis-below")
    discretion = protocol.limit("egfr-discretion-below")
    second = protocol.limit("esur-second-pass-egfr-below")
    first = protocol.limit("esur-first-pass-egfr-below")
    of_esur = (
        f"ESUR: at risk below {second.value:g} at second pass, as here, below {first.value:g} at "
        "first pass"
    )
    if protocol.choice("contrast-prophylaxis-rule").value == "esur":
        of_acr = (
            f"ACR and NKF: advised below {below.value:g}, individual below {discretion.value:g}"
        )
        return _Thresholds(
            at_risk=second,
            discretion=None,
            words=f"By ESUR. {SECOND_PASS}",
            beside=f"{of_acr} ({below.status})",
        )
    return _Thresholds(
        at_risk=below,
        discretion=discretion,
        words=f"By ACR and NKF. {SECOND_PASS}",
        beside=f"{of_esur} ({second.status})",
    )


def _prophylaxis(facts: Facts, kidney: KidneyFunction, protocol: Protocol) -> Advisory:
    thresholds = _thresholds(protocol)
    injury, dialysis = facts.conditions.acute_kidney_injury, facts.conditions.dialysis
    missing = list(kidney.missing)
    missing += [] if injury is not None else ["conditions.acute_kidney_injury"]
    missing += [] if dialysis is not None else ["conditions.dialysis"]
    urgency, text, limit = _prophylaxis_words(kidney.egfr, bool(injury), bool(dialysis), thresholds)
    text = f"{text} {thresholds.words}"
    if missing:
        urgency = louder(urgency, Urgency.CAUTION)
        text = f"{text} Not recorded: {', '.join(missing)}."
    return advise(
        rule=PROPHYLAXIS_RULE,
        urgency=urgency,
        text=text,
        basis=(*thresholds.basis, *kidney.basis),
        value=kidney.egfr,
        limit=limit.value if kidney.egfr is not None else None,
        unit=EGFR_UNIT if kidney.egfr is not None else None,
        inputs={**_inputs(kidney, injury, dialysis), "other rule": thresholds.beside},
        missing=missing,
    )


def _prophylaxis_words(
    egfr: float | None, injury: bool, dialysis: bool, thresholds: _Thresholds
) -> tuple[Urgency, str, Limit]:
    at_risk, discretion = thresholds.at_risk, thresholds.discretion
    if dialysis:
        text = "On dialysis: saline before contrast is not advised; ask the kidney team."
        return Urgency.CAUTION, text, at_risk
    if injury or (egfr is not None and egfr < at_risk.value):
        why = "acute kidney injury" if injury else f"kidney function below {at_risk.value:g}"
        text = f"Intravenous saline before contrast is advised ({why})."
        return Urgency.STOP_AND_THINK, text, at_risk
    if egfr is None:
        return Urgency.CAUTION, "Whether saline before contrast is advised is unknown.", at_risk
    if discretion is not None and egfr < discretion.value:
        text = (
            f"Kidney function {at_risk.value:g} to {discretion.value:g}: saline is for individual "
            "decision."
        )
        return Urgency.CAUTION, text, discretion
    from_here = discretion or at_risk
    text = (
        f"Kidney function of {from_here.value:g} or more: saline before contrast is not indicated."
    )
    return Urgency.INFO, text, from_here


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
    injury, dialysis = facts.conditions.acute_kidney_injury, facts.conditions.dialysis
    missing = list(kidney.missing) if takes else ["medication.metformin"]
    if injury or dialysis or (kidney.egfr is not None and kidney.egfr < stop.value):
        urgency = Urgency.STOP_AND_THINK
        text = (
            "By ESUR metformin is stopped from the time of contrast (kidney function below "
            f"{stop.value:g}, dialysis or acute kidney injury)."
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
            inputs={
                "metformin": said(takes),
                "acute kidney injury": said(injury),
                "dialysis": said(dialysis),
            },
            missing=missing,
        ),
    )
