"""The latest reading of each observation against the site's limits for adults."""

import datetime as dt
from dataclasses import dataclass

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.facts import Facts
from coilwright.assessment.given import Observation
from coilwright.protocol import COMMON_PRACTICE, Limit, Protocol, advise, louder

SATURATION_RULE = "observation-saturation"
SYSTOLIC_RULE = "observation-systolic"
HEART_RATE_RULE = "observation-heart-rate"
UNWATCHED_RULE = "observations-under-sedation"
HALF_A_DAY_S = 12.0 * 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Kind:
    """One observation: its rule (whose limits begin with the same words), field, and name."""

    rule: str
    field: str
    key: str
    name: str
    any_age: bool = False


_KINDS = (
    _Kind(
        rule=SATURATION_RULE,
        field="oxygen_saturation_percent",
        key="oxygen_saturation",
        name="Oxygen saturation",
        any_age=True,
    ),
    _Kind(rule=SYSTOLIC_RULE, field="systolic_mmhg", key="systolic", name="Systolic pressure"),
    _Kind(rule=HEART_RATE_RULE, field="heart_rate_per_min", key="heart_rate", name="Heart rate"),
)


def observation_limits(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """Each observation's latest reading, judged; nothing where none is recorded and none needed."""
    if facts.given.observations:
        return tuple(_judged(kind, facts, protocol) for kind in _KINDS)
    return (_unwatched(),) if facts.given.sedation else ()


def in_order(observations: tuple[Observation, ...]) -> tuple[Observation, ...]:
    """By time where every one has its time in the same form, else as they were recorded.

    Times of day more than half a day apart may lie on either side of midnight: then the order in
    which they were recorded stands too.
    """
    times = [_seconds(observation.at) for observation in observations]
    known = [time for time in times if time is not None]
    forms = {is_day for is_day, _ in known}
    if len(known) < len(observations) or len(forms) != 1:
        return observations
    seconds = [second for _, second in known]
    if forms == {False} and max(seconds) - min(seconds) > HALF_A_DAY_S:
        return observations
    order = sorted(range(len(observations)), key=seconds.__getitem__)
    return tuple(observations[place] for place in order)


def _seconds(at: str | None) -> tuple[bool, float] | None:
    """Whether a moment has its day, and its seconds; None where it cannot be read as a time."""
    if at is None:
        return None
    try:
        if "T" not in at:
            time = dt.time.fromisoformat(at)
            return False, 3600.0 * time.hour + 60.0 * time.minute + time.second
        moment = dt.datetime.fromisoformat(at)
    except ValueError:
        return None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=dt.UTC)
    return True, moment.timestamp()


def _judged(kind: _Kind, facts: Facts, protocol: Protocol) -> Advisory:
    observations = in_order(facts.given.observations)
    readings = [(getattr(o, kind.field), o) for o in observations]
    known = [(float(value), o) for value, o in readings if value is not None]
    if not known:
        return _not_read(kind)
    value, observation = known[-1]
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    adult_from = protocol.limit("sedation-minimum-age")
    if not kind.any_age and age is not None and age < adult_from.value:
        return _of_child(kind, value, adult_from, protocol)
    unsure_of_age = age is None and not kind.any_age
    urgency, words, limit = _words(kind, value, protocol)
    sentences = (
        f"{kind.name} {value:g} {limit.unit}, {words}.",
        "" if observation is observations[-1] else "A later observation does not give it.",
        "Not recorded: patient.birth_date; judged by the limits for adults."
        if unsure_of_age
        else "",
    )
    return advise(
        rule=kind.rule,
        urgency=louder(urgency, Urgency.CAUTION) if unsure_of_age else urgency,
        text=" ".join(filter(None, sentences)),
        basis=_limits(kind, protocol),
        value=value,
        limit=limit.value,
        unit=limit.unit,
        inputs={
            kind.name.lower(): f"{value:g} {limit.unit}",
            "at": observation.at or "not recorded",
        },
        missing=("patient.birth_date",) if unsure_of_age else (),
    )


def _limits(kind: _Kind, protocol: Protocol) -> tuple[Limit, ...]:
    names = ("very-low", "low", "high", "very-high")
    ids = [f"{kind.rule}-{name}" for name in names]
    return tuple(protocol.limit(id) for id in ids if id in protocol.limits)


def _words(kind: _Kind, value: float, protocol: Protocol) -> tuple[Urgency, str, Limit]:
    """How the reading stands to the limits, and the limit that decides it."""
    of = {limit.id.removeprefix(f"{kind.rule}-"): limit for limit in _limits(kind, protocol)}
    checks = (
        ("very-low", Urgency.STOP_AND_THINK, -1),
        ("very-high", Urgency.STOP_AND_THINK, 1),
        ("low", Urgency.CAUTION, -1),
        ("high", Urgency.CAUTION, 1),
    )
    for name, urgency, sign in checks:
        if name in of and sign * (value - of[name].value) > 0:
            return urgency, f"{'above' if sign > 0 else 'below'} {of[name].value:g}", of[name]
    return Urgency.INFO, "within the site's limits", of["low"]


def _of_child(kind: _Kind, value: float, adult_from: Limit, protocol: Protocol) -> Advisory:
    unit = _limits(kind, protocol)[0].unit
    return advise(
        rule=kind.rule,
        urgency=Urgency.CAUTION,
        text=f"{kind.name} {value:g} {unit}: the limits here are for adults, from "
        f"{adult_from.value:g} years on; not judged.",
        basis=(adult_from,),
        value=value,
        unit=unit,
        inputs={kind.name.lower(): f"{value:g} {unit}"},
    )


def _not_read(kind: _Kind) -> Advisory:
    key = f"given.observations.{kind.key}"
    return advise(
        rule=kind.rule,
        urgency=Urgency.CAUTION,
        text=f"{kind.name} is in no observation. Not recorded: {key}.",
        basis=(COMMON_PRACTICE,),
        missing=(key,),
    )


def _unwatched() -> Advisory:
    return advise(
        rule=UNWATCHED_RULE,
        urgency=Urgency.CAUTION,
        text="A sedative is recorded as given and no observation is. Not recorded: "
        "given.observations.",
        basis=(COMMON_PRACTICE,),
        missing=("given.observations",),
    )
