"""What changes at a level if the vein relaxes further than it was taken to."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from coilwright.kit import Coil, DeliveryCheck
from coilwright.planning.coil_ranking import Place, first_coil, percent
from coilwright.planning.plan import IfRelaxed
from coilwright.planning.undersize import probability_undersized
from coilwright.protocol import Protocol

# Steps to show, not limits: spasm hides a millimetre or two.
STEPS_MM = (0.5, 1.0, 1.5, 2.0)


def if_relaxes(
    coils: Sequence[Coil],
    deliveries: Mapping[str, DeliveryCheck],
    place: Place,
    protocol: Protocol,
    on: date | None,
) -> tuple[IfRelaxed, ...]:
    """The first choice at each of ``STEPS_MM`` wider, beside the one of today; the sd stays."""
    today = first_coil(coils, deliveries, place, protocol, on)
    rows = []
    for step_mm in STEPS_MM:
        wider = replace(place.relaxed, diameter_mm=place.relaxed.diameter_mm + step_mm)
        then = first_coil(coils, deliveries, replace(place, relaxed=wider), protocol, on)
        chances = [_chance(coil, wider.diameter_mm, wider.sd_mm) for coil in (then, today)]
        rows.append(
            IfRelaxed(
                relaxes_by_mm=step_mm,
                diameter_mm=wider.diameter_mm,
                first_choice=None if then is None else then.id,
                probability_undersized=chances[0],
                todays_probability_undersized=chances[1],
                text=_words(wider.diameter_mm, then, today, chances),
            )
        )
    return tuple(rows)


def _chance(coil: Coil | None, vein_mm: float, sd_mm: float) -> float | None:
    if coil is None:
        return None
    return probability_undersized(coil_mm=coil.diameter_mm, relaxed_mm=vein_mm, sd_mm=sd_mm)


def _words(
    vein_mm: float, then: Coil | None, today: Coil | None, chances: Sequence[float | None]
) -> str:
    start = f"At {vein_mm:.1f} mm"
    then_chance, today_chance = chances
    if then is None or then_chance is None:
        first = "no coil of the kit can be advised first"
    else:
        first = f"{then.name} first ({percent(then_chance)} chance undersized)"
    if today is None or today_chance is None:
        return f"{start}: {first}."
    if then is not None and then.id == today.id:
        return f"{start}: still {first}."
    return f"{start}: {first}; today's first, {today.name}, {percent(today_chance)}."
