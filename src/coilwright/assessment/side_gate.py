"""The side gate: whoever states the side must state the same, and ultrasound must have seen it."""

from collections.abc import Iterable, Mapping

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.facts import Facts
from coilwright.assessment.stated_side import (
    planned_sides,
    ultrasound_free_sides,
    ultrasound_sides,
)
from coilwright.protocol import COMMON_PRACTICE, advise
from coilwright.veins import Side

SIDE_RULE = "side-agreement"
# A worklist may not be in use: its absence is no gap in the record.
_KEYS = {
    "referral": "referral.side",
    "ultrasound": "ultrasound.side",
    "consent": "consent.side",
    "time-out": "time_out.side",
}


def side_words(sides: Iterable[Side]) -> str:
    """One side, or "both"."""
    sides = tuple(sides)
    return "both" if len(sides) > 1 else "".join(side.value for side in sides)


def side_agreement(facts: Facts) -> tuple[Advisory, ...]:
    """One advisory: the sides agree, disagree, or are not all recorded."""
    planned = planned_sides(facts)
    seen, free = ultrasound_sides(facts.ultrasound), ultrasound_free_sides(facts.ultrasound)
    contradicts = _treated(planned, seen) & set(free)
    said = {"referral": planned["referral"], "ultrasound": seen, **planned}
    recorded = {who: side_words(said[who]) for who in said if said[who]}
    if contradicts:
        recorded["ultrasound"] = _seen_words(seen, free)
    recorded |= {f"run {place}": side.value for place, side in enumerate(facts.run_sides, 1)}
    missing = tuple(key for who, key in _KEYS.items() if who not in recorded)
    listed = ", ".join(f"{who} {side}" for who, side in recorded.items())
    absent = f" Not recorded: {', '.join(missing)}." if missing else ""
    if contradicts or _disagree(planned, seen, facts.run_sides):
        urgency, text = Urgency.STOP_AND_THINK, f"The sides do not agree: {listed}.{absent}"
    elif missing:
        urgency = Urgency.CAUTION
        text = f"The side is not fully checked: {listed or 'none'}.{absent}"
    else:
        urgency, text = Urgency.INFO, f"The sides agree: {listed}."
    return (
        advise(
            rule=SIDE_RULE,
            urgency=urgency,
            text=text,
            basis=(COMMON_PRACTICE,),
            inputs=recorded,
            missing=missing,
        ),
    )


def _treated(planned: Mapping[str, tuple[Side, ...]], seen: tuple[Side, ...]) -> set[Side]:
    """Every side that anybody means to treat, or that ultrasound names where nobody says."""
    return {side for sides in planned.values() for side in sides} or set(seen)


def _seen_words(seen: tuple[Side, ...], free: tuple[Side, ...]) -> str:
    found = f"{side_words(seen)}, " if seen else ""
    return f"{found}no varicocele on {'both sides' if len(free) > 1 else f'the {free[0].value}'}"


def _disagree(
    planned: Mapping[str, tuple[Side, ...]], seen: tuple[Side, ...], runs: tuple[Side, ...]
) -> bool:
    """Whether any two differ; ultrasound may name more sides than are treated, never fewer."""
    stated = {sides for sides in planned.values() if sides}
    if len(stated) > 1:
        return True
    treated = set(next(iter(stated))) if stated else set(seen)
    if seen and not treated <= set(seen):
        return True
    if not treated:
        return len(set(runs)) > 1
    return not set(runs) <= treated
