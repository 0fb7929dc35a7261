"""The small testis that stays small: the paediatric criterion over two visits.

The testis on the varicocele's side is smaller by more than 2 mL or more than 20 % on two visits at
least six calendar months apart, and at every visit between and after them.
"""

import calendar
import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from coilwright.advice import Advisory, Urgency
from coilwright.assessment.age import age_on_the_day
from coilwright.assessment.answers import said
from coilwright.assessment.cut_offs import above
from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Testes
from coilwright.assessment.stated_side import agreed_sides, other_side_affected
from coilwright.assessment.testis import (
    asymmetry_percent,
    denominator_words,
    how_measured,
    volume_ml,
)
from coilwright.protocol import Limit, Protocol, advise
from coilwright.veins import Side

ADOLESCENT_RULE = "testis-adolescent-criterion"


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """Both volumes on one day: how much smaller the affected testis was, and whether that counts.

    Where a day was measured twice, it counts only if both times did.
    """

    date: dt.date
    smaller_ml: float
    smaller_percent: float
    counts: bool
    reads: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Verdict:
    urgency: Urgency
    words: str
    met: bool | None = None
    missing: tuple[str, ...] = ()


def add_months(day: dt.date, months: int) -> dt.date:
    """The same day of the month so many months later, or that month's last day.

    Examples
    --------
    >>> add_months(dt.date(2025, 8, 31), 6)
    datetime.date(2026, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return dt.date(year, month + 1, min(day.day, last))


def adolescent_criterion(facts: Facts, protocol: Protocol) -> tuple[Advisory, ...]:
    """The criterion for patients under 18; nothing for adults without volumes."""
    below = protocol.limit("adolescent-age-below")
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    if not facts.testes and (age is None or age >= below.value):
        return ()
    if age is None:
        text = f"cannot be judged: it is for patients under {below.value:g}, and the age is unknown"
        return (_cannot(text, ("patient.birth_date",), protocol),)
    if age >= below.value:
        text = f"does not apply at {age} years: it is for patients under {below.value:g}"
        return (_cannot(text, (), protocol),)
    if not facts.testes:
        return (_cannot("cannot be judged", ("testes",), protocol),)
    return (_on_a_side(facts, protocol),)


def adolescent_criterion_met(facts: Facts, protocol: Protocol) -> bool | None:
    """Whether the criterion is met; None where it cannot be judged, or is not for this patient."""
    below = protocol.limit("adolescent-age-below")
    age = age_on_the_day(facts.patient.birth_date, facts.on)
    sides = agreed_sides(facts)
    if age is None or age >= below.value or len(sides) != 1:
        return None
    if other_side_affected(facts, sides[0]):
        return None
    visits, _ = judged_visits(facts.testes, sides[0], protocol)
    apart = protocol.limit("adolescent-visits-apart")
    return _verdict(visits, int(apart.value)).met if visits else None


def _on_a_side(facts: Facts, protocol: Protocol) -> Advisory:
    sides = agreed_sides(facts)
    if len(sides) > 1 or (sides and other_side_affected(facts, sides[0])):
        text = "cannot be judged: both sides are affected, and there is no healthy one to compare"
        return _cannot(text, (), protocol)
    if not sides:
        return _cannot("cannot be judged", ("one agreed side (referral, ultrasound)",), protocol)
    visits, missing = judged_visits(facts.testes, sides[0], protocol)
    if not visits:
        return _cannot("cannot be judged: no visit has both volumes and a date", missing, protocol)
    return _over_visits(facts, sides[0], visits, missing, protocol)


def judged_visits(
    testes: Sequence[Testes], side: Side, protocol: Protocol
) -> tuple[tuple[Visit, ...], tuple[str, ...]]:
    """The visits with a date and both volumes, oldest first, and the keys missing in the rest."""
    by_day: dict[dt.date, list[Visit]] = {}
    missing: list[str] = []
    for visit in testes:
        judged = _judged(visit, side, protocol)
        if judged is None:
            missing += _missing_in(visit, protocol)
        else:
            by_day.setdefault(judged.date, []).append(judged)
    # Of a day that was measured twice, the smaller difference stands: it may be gone.
    days = (min(same, key=lambda v: (v.counts, v.smaller_ml)) for _, same in sorted(by_day.items()))
    return tuple(days), tuple(dict.fromkeys(missing))


def _judged(visit: Testes, side: Side, protocol: Protocol) -> Visit | None:
    formula = protocol.choice("testis-volume-formula").value
    larger = protocol.choice("testis-asymmetry-denominator").value == "larger"
    sizes = {Side.LEFT: visit.left, Side.RIGHT: visit.right}
    own, other = sizes[side], sizes[side.other]
    own_ml, other_ml = volume_ml(own, formula), volume_ml(other, formula)
    if visit.date is None or own_ml is None or other_ml is None:
        return None
    percent = asymmetry_percent(affected_ml=own_ml, other_ml=other_ml, of_larger=larger)
    in_ml, in_percent = _limits(protocol)
    return Visit(
        date=visit.date,
        smaller_ml=other_ml - own_ml,
        smaller_percent=percent,
        counts=above(other_ml - own_ml, in_ml.value) or above(percent, in_percent.value),
        reads=f"{side.value} {own_ml:.1f} mL ({how_measured(own, formula)}), {side.other.value} "
        f"{other_ml:.1f} mL ({how_measured(other, formula)}): {other_ml - own_ml:.1f} mL, "
        f"{percent:.1f} % smaller",
    )


def _limits(protocol: Protocol) -> tuple[Limit, Limit]:
    return (
        protocol.limit("testis-asymmetry-volume"),
        protocol.limit("adolescent-asymmetry-percent"),
    )


def _missing_in(visit: Testes, protocol: Protocol) -> list[str]:
    formula = protocol.choice("testis-volume-formula").value
    missing = ["testes.date"] if visit.date is None else []
    missing += ["testes.left"] if volume_ml(visit.left, formula) is None else []
    missing += ["testes.right"] if volume_ml(visit.right, formula) is None else []
    return missing


def _over_visits(
    facts: Facts,
    side: Side,
    visits: tuple[Visit, ...],
    missing: tuple[str, ...],
    protocol: Protocol,
) -> Advisory:
    apart = protocol.limit("adolescent-visits-apart")
    in_ml, in_percent = _limits(protocol)
    verdict = _verdict(visits, int(apart.value))
    criterion = (
        f"{side.value} testis smaller by more than {in_ml.value:g} mL or {in_percent.value:g} % of "
        f"the {denominator_words(protocol)}, on two visits {apart.value:g} months apart"
    )
    left_out = f" At least one visit is left out, for want of {', '.join(missing)}."
    return advise(
        rule=ADOLESCENT_RULE,
        urgency=verdict.urgency,
        text=f"Adolescent criterion ({criterion}): {verdict.words}{left_out if missing else ''}",
        basis=(in_ml, in_percent, apart),
        value=visits[-1].smaller_ml,
        limit=in_ml.value,
        unit=in_ml.unit,
        inputs={
            "age": f"{age_on_the_day(facts.patient.birth_date, facts.on)} years",
            "other side affected": said(other_side_affected(facts, side)),
            **{visit.date.isoformat(): visit.reads for visit in visits},
        },
        missing=(*verdict.missing, *missing),
    )


def _since_it_was_last_gone(visits: tuple[Visit, ...]) -> tuple[Visit, ...]:
    """The visits at the end that all count; none where the latest does not."""
    gone = [place for place, visit in enumerate(visits) if not visit.counts]
    return visits[gone[-1] + 1 :] if gone else visits


def _verdict(visits: tuple[Visit, ...], months: int) -> _Verdict:
    lasting = _since_it_was_last_gone(visits)
    if not lasting:
        how = "gone" if any(visit.counts for visit in visits) else "not there"
        words = f"not met, the difference is {how} at the latest visit, {visits[-1].date}."
        return _Verdict(urgency=Urgency.INFO, words=words, met=False)
    first, last = lasting[0].date, lasting[-1].date
    counts_from = add_months(first, months)
    if last >= counts_from:
        words = f"met, from {first} to {last} at every visit ({len(lasting)} visits)."
        return _Verdict(urgency=Urgency.CAUTION, words=words, met=True)
    words = (
        f"cannot be judged yet, the difference is there since {first}; a second visit counts from "
        f"{counts_from}."
    )
    return _Verdict(urgency=Urgency.INFO, words=words, missing=("testes (second visit)",))


def _cannot(why: str, missing: tuple[str, ...], protocol: Protocol) -> Advisory:
    absent = f" Not recorded: {', '.join(missing)}." if missing else ""
    return advise(
        rule=ADOLESCENT_RULE,
        urgency=Urgency.INFO,
        text=f"Adolescent criterion of the small testis {why}.{absent}",
        basis=(*_limits(protocol), protocol.limit("adolescent-age-below")),
        missing=missing,
    )
