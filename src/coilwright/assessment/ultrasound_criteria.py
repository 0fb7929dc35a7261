"""Each published ultrasound criterion of a varicocele, judged by itself.

Two bodies of sources disagree: ESUR asks for 3 mm and more than 2 s, upright on Valsalva; older
papers for more than 2 mm and more than 1 s. All are shown.
"""

from dataclasses import dataclass, field

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.cut_offs import above, at_least
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Position, Ultrasound
from coilwright.assessment.reflux import reflux_contradiction, reflux_lasts_s
from coilwright.assessment.ultrasound_veins import (
    ESUR_RECORD,
    VEIN_KEYS,
    measured_sides,
    widest_vein,
)
from coilwright.protocol import Limit, Protocol, advise
from coilwright.veins import Side

ESUR_DIAMETER_RULE = "ultrasound-esur-diameter"
ESUR_REFLUX_RULE = "ultrasound-esur-reflux"
OLDER_RULE = "ultrasound-older-cut-offs"


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """One criterion against one side's ultrasound.

    ``met`` is None where it cannot be judged. ``value`` is what was measured, in the limit's unit.
    ``limit`` is None where the statement does not use its number.
    """

    rule: str
    name: str
    limit: Limit | None
    met: bool | None
    words: str
    value: float | None = None
    inputs: dict[str, str] = field(default_factory=dict)
    missing: tuple[str, ...] = ()
    urgency: Urgency = Urgency.INFO


def ultrasound_criteria(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """ESUR's and the older cut-offs for each side that ultrasound looked at."""
    return tuple(
        _advisory(side, criterion)
        for side, exam in measured_sides(facts)
        for criterion in criteria_of(exam, protocol)
    )


def criteria_of(exam: Ultrasound, protocol: Protocol) -> tuple[Criterion, ...]:
    """The four criteria of one ultrasound: ESUR diameter and reflux, older diameter and reflux."""
    return (
        _esur_diameter(exam, protocol.limit("us-esur-diameter")),
        _esur_reflux(exam, protocol.limit("us-esur-reflux")),
        _older_diameter(exam, protocol.limit("us-older-diameter")),
        _older_reflux(exam, protocol.limit("us-older-reflux")),
    )


def _advisory(side: Side, criterion: Criterion) -> Advisory:
    limit = criterion.limit
    return advise(
        rule=criterion.rule,
        urgency=criterion.urgency,
        text=f"{side.value.capitalize()}: {criterion.words}",
        basis=(limit or ESUR_RECORD,),
        value=criterion.value,
        limit=None if limit is None else limit.value,
        unit=None if limit is None else limit.unit,
        inputs={"side": side.value, **criterion.inputs},
        missing=criterion.missing,
    )


def _verdict(met: bool) -> str:
    return "met" if met else "not met"


def _esur_diameter(exam: Ultrasound, limit: Limit) -> Criterion:
    name, width_mm = "ESUR diameter", exam.vein_upright_valsalva_mm
    asks = f"{limit.value:g} mm or more, upright on Valsalva"
    if width_mm is None:
        key = "ultrasound.vein_upright_valsalva"
        return Criterion(
            rule=ESUR_DIAMETER_RULE,
            name=name,
            limit=None,
            met=None,
            words=f"ESUR's diameter (upright on Valsalva) cannot be judged: not recorded: {key}.",
            missing=(key,),
        )
    met = at_least(width_mm, limit.value)
    return Criterion(
        rule=ESUR_DIAMETER_RULE,
        name=name,
        limit=limit,
        met=met,
        words=f"vein {width_mm:g} mm upright on Valsalva; ESUR's diameter ({asks}): "
        f"{_verdict(met)}.",
        value=width_mm,
        inputs={"upright on Valsalva": f"{width_mm:g} mm"},
    )


def _esur_reflux(exam: Ultrasound, limit: Limit) -> Criterion:
    asks = f"longer than {limit.value:g} s, upright on Valsalva"
    lasts_s = reflux_lasts_s(exam)
    if lasts_s is None:
        return _unknown_reflux(
            exam, ESUR_REFLUX_RULE, "ESUR reflux", limit, f"ESUR's criterion ({asks})"
        )
    position = exam.reflux_position
    how = _reflux_words(exam, lasts_s)
    is_longer = above(lasts_s, limit.value)
    if position is Position.UPRIGHT:
        words = f"{how}; ESUR's criterion ({asks}): {_verdict(is_longer)}."
    else:
        words = (
            f"{how}, {'longer' if is_longer else 'not longer'} than {limit.value:g} s; ESUR's "
            "criterion is for upright, so it cannot be judged by this."
        )
    return Criterion(
        rule=ESUR_REFLUX_RULE,
        name="ESUR reflux",
        limit=limit,
        met=is_longer if position is Position.UPRIGHT else None,
        words=words,
        value=lasts_s,
        inputs=_reflux_inputs(exam, lasts_s),
        missing=("ultrasound.reflux_position",) if position is None else (),
    )


def _older_diameter(exam: Ultrasound, limit: Limit) -> Criterion:
    widest, name = widest_vein(exam), "older diameter"
    asks = f"the older cut-off of diameter (more than {limit.value:g} mm)"
    if widest is None:
        return Criterion(
            rule=OLDER_RULE,
            name=name,
            limit=limit,
            met=None,
            words=f"{asks} cannot be judged: no diameter of a vein is recorded.",
            missing=VEIN_KEYS,
        )
    met = above(widest.width_mm, limit.value)
    return Criterion(
        rule=OLDER_RULE,
        name=name,
        limit=limit,
        met=met,
        words=f"widest recorded vein {widest.width_mm:g} mm ({widest.condition}); {asks}: "
        f"{_verdict(met)}.",
        value=widest.width_mm,
        inputs={"widest vein": f"{widest.width_mm:g} mm", "condition": widest.condition},
    )


def _older_reflux(exam: Ultrasound, limit: Limit) -> Criterion:
    name, lasts_s = "older reflux", reflux_lasts_s(exam)
    asks = f"the older cut-off of reflux (longer than {limit.value:g} s)"
    if lasts_s is None:
        return _unknown_reflux(exam, OLDER_RULE, name, limit, asks)
    met = above(lasts_s, limit.value)
    return Criterion(
        rule=OLDER_RULE,
        name=name,
        limit=limit,
        met=met,
        words=f"{_reflux_words(exam, lasts_s)}; {asks}: {_verdict(met)}.",
        value=lasts_s,
        inputs=_reflux_inputs(exam, lasts_s),
    )


def _unknown_reflux(exam: Ultrasound, rule: str, name: str, limit: Limit, asks: str) -> Criterion:
    contradiction = reflux_contradiction(exam)
    key = "ultrasound.reflux_duration"
    why = f"not recorded: {key}" if contradiction is None else f"contradictory: {contradiction}"
    return Criterion(
        rule=rule,
        name=name,
        limit=limit,
        met=None,
        words=f"{asks} cannot be judged: {why}.",
        missing=(key,) if contradiction is None else (),
        urgency=Urgency.INFO if contradiction is None else Urgency.CAUTION,
    )


def _reflux_words(exam: Ultrasound, lasts_s: float) -> str:
    if lasts_s == 0.0:
        return f"no reflux on Valsalva, {_position(exam)}"
    return f"reflux on Valsalva lasts {lasts_s:g} s, {_position(exam)}"


def _position(exam: Ultrasound) -> str:
    position = exam.reflux_position
    return "position not recorded" if position is None else position.value


def _reflux_inputs(exam: Ultrasound, lasts_s: float) -> dict[str, str]:
    return {"reflux lasts": f"{lasts_s:g} s", "position": _position(exam)}
