"""What the machine shows, against the levels at which somebody is told or the patient followed."""

import math

from coilwright.advice import Advisory, Status, Urgency
from coilwright.assessment.effective_dose import effective_dose
from coilwright.assessment.facts import Facts
from coilwright.assessment.skin_dose import peak_skin_dose
from coilwright.assessment.testis_dose import collimation_reminder
from coilwright.protocol import Citation, Limit, Protocol, advise

KAP_RULE = "radiation-kap"
METRICS = (
    (KAP_RULE, "Kerma-area product", "given.radiation.kap"),
    ("radiation-air-kerma", "Reference air kerma", "given.radiation.reference_air_kerma"),
    ("radiation-fluoroscopy-time", "Fluoroscopy time", "given.radiation.fluoroscopy_time"),
)
NO_KAP_LEVEL = Citation(
    source="AAPM Medical Physics Practice Guideline 12.a, 2022, sections 5.3 and 5.4",
    status=Status.RESTATED,
)
# Steps are counted with this slack, so that 3.3 Gy in steps of 0.1 Gy is not one step short.
STEP_SLACK = 1e-9


def radiation_totals(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Levels, effective dose, skin dose and the reminder of the testes."""
    return (
        *radiation_levels(facts, protocol),
        *effective_dose(facts, protocol),
        *peak_skin_dose(facts, protocol),
        *collimation_reminder(facts, protocol),
    )


def radiation_levels(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """One advisory for each of the three figures, once any is recorded."""
    radiation = facts.given.radiation
    if radiation is None:
        return ()
    values = (radiation.kap_gy_cm2, radiation.reference_air_kerma_gy, radiation.fluoroscopy_min)
    return tuple(
        _missing(rule, name, key, protocol)
        if value is None
        else _level(rule, name, value, protocol)
        for (rule, name, key), value in zip(METRICS, values, strict=True)
    )


def next_notification(value: float, first: float, increment: float) -> float:
    """The next level at which the operator is told: the first, then every increment above it.

    Examples
    --------
    >>> next_notification(4.2, first=3.0, increment=1.0)
    5.0
    """
    if value < first:
        return first
    steps = math.floor((value - first) / increment + STEP_SLACK) + 1
    return first + steps * increment


def _level(rule: str, name: str, value: float, protocol: Protocol) -> Advisory:
    notify, follow = protocol.limit(f"{rule}-notification"), protocol.limit(f"{rule}-follow-up")
    increment = protocol.limit(f"{rule}-increment")
    urgency, level, words = _against(value, notify, follow)
    if value >= notify.value:
        next_level = next_notification(value, notify.value, increment.value)
        words = f"{words}; next notification at {next_level:g} {notify.unit}"
    no_level = (NO_KAP_LEVEL,) if rule == KAP_RULE else ()
    return advise(
        rule=rule,
        urgency=urgency,
        text=" ".join((f"{name} {value:.4g} {notify.unit}, {words}.", *_no_kap_level(rule))),
        basis=(notify, follow, *((increment,) if value >= notify.value else ()), *no_level),
        value=value,
        limit=level.value,
        unit=level.unit,
        inputs={name.lower(): f"{value:.4g} {level.unit}", **_published(rule, protocol)},
    )


def _against(value: float, notify: Limit, follow: Limit) -> tuple[Urgency, Limit, str]:
    if value >= follow.value:
        words = (
            f"at or above {follow.value:g} {follow.unit}: by the guidelines the "
            "patient is told and followed up"
        )
        return Urgency.STOP_AND_THINK, follow, words
    if value >= notify.value:
        words = (
            f"at or above the first notification of {notify.value:g} {notify.unit}; follow-up "
            f"from {follow.value:g} {follow.unit}"
        )
        return Urgency.CAUTION, follow, words
    words = f"below the first notification of {notify.value:g} {notify.unit}"
    return Urgency.INFO, notify, words


def _no_kap_level(rule: str) -> tuple[str, ...]:
    if rule != KAP_RULE:
        return ()
    return ("One guideline (AAPM 12.a, 2022) gives no level of this product.",)


def _published(rule: str, protocol: Protocol) -> dict[str, str]:
    """What the procedure has cost elsewhere: context, not a level."""
    if rule != KAP_RULE:
        return {}
    rows = (protocol.limit(f"kap-published-{row}") for row in ("left-mean", "boys-antegrade"))
    return {row.title: f"{row.value:g} {row.unit} ({row.source})" for row in rows}


def _missing(rule: str, name: str, key: str, protocol: Protocol) -> Advisory:
    nor = ", nor effective dose estimated" if rule == KAP_RULE else ""
    return advise(
        rule=rule,
        urgency=Urgency.CAUTION,
        text=f"{name} cannot be judged{nor}: not recorded: {key}.",
        basis=(protocol.limit(f"{rule}-notification"),),
        missing=(key,),
    )
