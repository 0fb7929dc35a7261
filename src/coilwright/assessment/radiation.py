"""What the machine shows, against the levels at which somebody is told or the patient followed."""

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.protocol import Protocol, advise

METRICS = (
    ("radiation-kap", "Kerma-area product", "given.radiation.kap"),
    ("radiation-air-kerma", "Reference air kerma", "given.radiation.reference_air_kerma"),
    ("radiation-fluoroscopy-time", "Fluoroscopy time", "given.radiation.fluoroscopy_time"),
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


def _level(rule: str, name: str, value: float, protocol: Protocol) -> Advisory:
    notify, follow = protocol.limit(f"{rule}-notification"), protocol.limit(f"{rule}-follow-up")
    if value >= follow.value:
        urgency, level = Urgency.STOP_AND_THINK, follow
        words = f"at or above {follow.value:g} {follow.unit}: the patient is told and followed up"
    elif value >= notify.value:
        urgency, level = Urgency.CAUTION, follow
        words = f"at or above the first notification of {notify.value:g} {notify.unit}"
    else:
        urgency, level = Urgency.INFO, notify
        words = f"below the first notification of {notify.value:g} {notify.unit}"
    return advise(
        rule=rule,
        urgency=urgency,
        text=f"{name} {value:.3g} {notify.unit}, {words}.",
        basis=(notify, follow),
        value=value,
        limit=level.value,
        unit=level.unit,
        inputs={name.lower(): f"{value:.4g} {level.unit}"},
    )


def _missing(rule: str, name: str, key: str, protocol: Protocol) -> Advisory:
    return advise(
        rule=rule,
        urgency=Urgency.CAUTION,
        text=f"{name} cannot be judged: not recorded: {key}.",
        basis=(protocol.limit(f"{rule}-notification"),),
        missing=(key,),
    )
