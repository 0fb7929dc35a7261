"""The levels of the plan in words: where, how wide, with what, and how sure that is."""

from coilwright.documents.figures import (
    NOT_MEASURED,
    calibre_mm,
    capital,
    oversize,
    with_plus_minus,
)
from coilwright.documents.page import ChoiceRow, LevelRow
from coilwright.planning import DeviceChoice, Level, LevelCalibre, OcclusionPlan, PlugChoice
from coilwright.planning.coil_ranking import percent

_PLACES = {1: "first choice", 2: "second choice", 3: "third choice"}
NO_LEVELS = "No level is worked out: the cautions say why."


def level_rows(plan: OcclusionPlan) -> tuple[LevelRow, ...]:
    """The levels in the order of placement."""
    return tuple(_level(level) for level in plan.levels)


def between_levels(plan: OcclusionPlan) -> str:
    """The volume of the vein between the levels, with the warning that it is no dose."""
    if plan.sclerosant is None:
        return "not computed"
    return with_plus_minus(plan.sclerosant.text)


def _level(level: Level) -> LevelRow:
    choices = [_choice(choice) for choice in level.choices]
    advised = [choice for choice in choices if choice.advised]
    first = advised[0] if advised else None
    zone = level.zone
    return LevelRow(
        step=str(level.order),
        name=level.name.value,
        where=zone.described,
        along=f"{zone.vessel}, {zone.from_mm:.0f} to {zone.to_mm:.0f} mm from its upper end",
        measured=_calibre(level.measured),
        relaxed=_calibre(level.relaxed) if level.relaxed else "unknown: no coil is sized here",
        relaxed_from=level.relaxed.where_from if level.relaxed else NOT_MEASURED,
        mouths="; ".join(f"{m.vessel} {_gap(m.gap_mm)}" for m in level.mouths) or "none near",
        tip=with_plus_minus(level.tip.text) if level.tip else "distance from the tip not known",
        first=first,
        first_words=_first_words(first),
        next=tuple(advised[1:]),
        not_advised=tuple(choice for choice in choices if not choice.advised),
        plugs=tuple(_plug(plug) for plug in level.plugs),
        why=level.why,
        if_relaxes=tuple(with_plus_minus(case.text) for case in level.if_relaxes),
    )


def _choice(choice: DeviceChoice) -> ChoiceRow:
    low_mm, high_mm = choice.nest_length_mm
    return ChoiceRow(
        place=_place(choice.rank),
        advised=choice.advised,
        device=choice.device,
        name=choice.name,
        oversize=oversize(choice.oversize_ratio),
        undersized=f"{percent(choice.probability_undersized)} chance undersized",
        nest=f"nest {low_mm:.0f} mm close-wound to {high_mm:.0f} mm drawn out",
        delivery=choice.delivery.text,
        shelf=_shelf(choice),
        number=choice.number_text,
        cost=_cost(choice),
        why=choice.why,
    )


def _plug(plug: PlugChoice) -> ChoiceRow:
    length = "length not stated" if plug.length_mm is None else f"{plug.length_mm:g} mm as labelled"
    return ChoiceRow(
        place=_place(plug.rank),
        advised=plug.advised,
        device=plug.device,
        name=plug.name,
        oversize=oversize(plug.oversize_ratio),
        undersized=f"{percent(plug.probability_undersized)} chance undersized",
        nest=length,
        delivery=plug.delivery.text,
        shelf=_shelf(plug),
        number=f"{plug.number} for the level",
        cost=_cost(plug),
        why=plug.why,
    )


def _cost(choice: DeviceChoice | PlugChoice) -> str:
    """In the department's own currency, which its kit does not name."""
    if choice.cost is None or choice.price is None:
        return "price not stated"
    return f"{choice.number} at {choice.price:g} is {choice.cost:g}, as the kit states prices"


def _place(rank: int | None) -> str:
    return "not advised" if rank is None else _PLACES.get(rank, f"choice {rank}")


def _shelf(choice: DeviceChoice | PlugChoice) -> str:
    count = f"{choice.shelf_count} on the shelf" if choice.shelf_count else "none on the shelf"
    lot = f"lot {choice.lot}" if choice.lot else "lot not recorded"
    expiry = f"use by {choice.expiry}" if choice.expiry else "expiry not recorded"
    return f"{count}, {lot}, {expiry}"


def _first_words(first: ChoiceRow | None) -> str:
    if first is None:
        return "no coil of the kit is advised first"
    return f"{first.name}, {first.oversize}, {first.undersized}"


def _calibre(calibre: LevelCalibre | None) -> str:
    return NOT_MEASURED if calibre is None else calibre_mm(calibre.diameter_mm, calibre.sd_mm)


def _gap(gap_mm: float) -> str:
    if gap_mm == 0:
        return "inside the zone"
    return "under 1 mm away" if gap_mm < 1 else f"{gap_mm:.0f} mm away"


def level_line(row: LevelRow) -> str:
    """One level in one line, for a terminal or a wall: the words of the page."""
    place = f"{row.step}. {capital(row.name)} level, {row.where}"
    return f"{place}: relaxed calibre {row.relaxed}; first {row.first_words}"


def coil_mm(choice: DeviceChoice, relaxed: LevelCalibre) -> float:
    """The free diameter of a coil in mm, back from its oversize over the relaxed calibre."""
    return choice.oversize_ratio * relaxed.diameter_mm
