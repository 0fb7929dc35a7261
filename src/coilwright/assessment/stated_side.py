"""Which sides are to be treated, as far as those who stated them agree."""

import datetime as dt
from collections.abc import Iterable
from typing import TypeVar

from coilwright.assessment.facts import Facts
from coilwright.assessment.findings import Examination, Ultrasound
from coilwright.veins import Side

OfOneSide = TypeVar("OfOneSide", Examination, Ultrasound)


def planned_sides(facts: Facts) -> dict[str, tuple[Side, ...]]:
    """Who means to treat which sides; empty where it is not recorded."""
    return {
        "referral": facts.referral.sides,
        "worklist": facts.worklist.sides,
        "consent": facts.consent.sides,
        "time-out": facts.time_out.sides,
    }


def ultrasound_sides(exams: Iterable[Ultrasound]) -> tuple[Side, ...]:
    """The sides that the latest ultrasound names, without those it found free of a varicocele."""
    exams = tuple(exams)
    return tuple(
        side
        for side in Side
        if any(exam.varicocele is not False for exam in _of_the_latest_day(exams, side))
    )


def ultrasound_free_sides(exams: Iterable[Ultrasound]) -> tuple[Side, ...]:
    """The sides that the latest ultrasound found free of a varicocele."""
    exams = tuple(exams)
    return tuple(
        side
        for side in Side
        if any(exam.varicocele is False for exam in _of_the_latest_day(exams, side))
    )


def _of_the_latest_day(exams: Iterable[Ultrasound], side: Side) -> list[Ultrasound]:
    exams = tuple(exams)
    latest = latest_of_side(exams, side)
    if latest is None:
        return []
    return [exam for exam in exams if exam.side is side and exam.date == latest.date]


def agreed_sides(facts: Facts) -> tuple[Side, ...]:
    """The sides that all who stated any agree on; empty where nobody did or they differ.

    Ultrasound may name more sides than are treated, never fewer, and none of them may be free.
    """
    planned = {sides for sides in planned_sides(facts).values() if sides}
    seen = ultrasound_sides(facts.ultrasound)
    free = ultrasound_free_sides(facts.ultrasound)
    if not planned:
        return tuple(side for side in seen if side not in free)
    if len(planned) > 1:
        return ()
    (sides,) = planned
    agreed = (not seen or set(sides) <= set(seen)) and not set(sides) & set(free)
    return sides if agreed else ()


def stated_side(facts: Facts) -> Side | None:
    """The one side to be treated; None where nobody states it, they differ, or it is both."""
    sides = agreed_sides(facts)
    return sides[0] if len(sides) == 1 else None


def latest_of_side(exams: Iterable[OfOneSide], side: Side) -> OfOneSide | None:
    """The latest examination of one side; one without date counts as the oldest."""
    of_side = [exam for exam in exams if exam.side is side]
    return max(of_side, key=lambda exam: exam.date or dt.date.min) if of_side else None


def other_side_affected(facts: Facts, side: Side) -> bool | None:
    """Whether the side across from ``side`` is affected too; None where nobody has said."""
    across = latest_of_side(facts.ultrasound, side.other)
    if across is not None and across.varicocele is not None:
        return across.varicocele
    own = latest_of_side(facts.ultrasound, side)
    return None if own is None else own.other_side_affected
