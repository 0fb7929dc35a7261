"""What a technique places and fills: devices, their chance of travel, volume, cost."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from coilwright.advice import Advisory
from coilwright.kit import Sclerosant
from coilwright.planning.coil_ranking import percent
from coilwright.planning.plan import Level, LevelName
from coilwright.planning.sclerosant_figure import SclerosantFigure
from coilwright.planning.technique_table import Goods, Migration, Volume, VolumeCeiling

# The assessment's ceilings of a sclerosant's volume, by the rules that it gives them.
CEILINGS = (
    "sts-session-max",
    "polidocanol-session-max",
    "polidocanol-microfoam-max",
    "foam-guideline-max",
)
# Standard deviations to the upper end: two-sided 95 % of a normal distribution, rounded.
SURE_SD = 2.0
INDEPENDENT = "levels taken as independent: they share one scale, so this is an upper figure"


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """What is placed first at a level: coils, or a plug where no coil can be advised."""

    name: str
    number: int | None
    cost: float | None
    probability_undersized: float


def placed_at(level: Level) -> Placed | None:
    """The level's first coil, else its first plug; null where nothing can be advised."""
    coil = next((choice for choice in level.choices if choice.advised), None)
    if coil is not None:
        return Placed(
            name=coil.name,
            number=coil.number,
            cost=coil.cost,
            probability_undersized=coil.probability_undersized,
        )
    plug = next((choice for choice in level.plugs if choice.advised), None)
    if plug is None:
        return None
    return Placed(
        name=plug.name,
        number=plug.number,
        cost=plug.cost,
        probability_undersized=plug.probability_undersized,
    )


def ends_alone(levels: Sequence[Level]) -> tuple[Level, ...]:
    """The levels but the middle one, where sclerosant lies between."""
    return tuple(level for level in levels if level.name is not LevelName.MIDDLE)


def migration_of(levels: Sequence[Level]) -> Migration:
    """The worst of the levels' chances that the first choice is undersized, and of any of them."""
    placed = [placed_at(level) for level in levels]
    if not placed or None in placed:
        text = "not known: a level has nothing to place first" if placed else "not known: no level"
        return Migration(worst_undersized=None, any_undersized=None, text=text)
    chances = [one.probability_undersized for one in placed if one is not None]
    any_one = 1.0 - math.prod(1.0 - chance for chance in chances)
    text = (
        f"{percent(max(chances))} at the worst level, {percent(any_one)} at any "
        f"({INDEPENDENT}). An undersized device can travel to the lung."
    )
    return Migration(worst_undersized=max(chances), any_undersized=any_one, text=text)


def nothing_placed() -> Migration:
    """A technique that leaves no device in the vein."""
    return Migration(
        worst_undersized=None, any_undersized=None, text="none: no device is placed that can travel"
    )


def device_goods(levels: Sequence[Level]) -> Goods:
    """Coils and plugs of the first choices, and their cost where every price is known."""
    placed = [placed_at(level) for level in levels]
    named = [
        f"{level.name}: {'none of the kit' if one is None else _named(one)}"
        for level, one in zip(levels, placed, strict=True)
    ]
    numbers = [None if one is None else one.number for one in placed]
    costs = [None if one is None else one.cost for one in placed]
    cost = _total(costs)
    return Goods(
        implants=_whole(numbers),
        implants_text="; ".join(named) or "no level",
        cost=cost,
        cost_text="not known: a price is not stated" if cost is None else f"{cost:.2f}",
    )


def with_sclerosant(goods: Goods, vials: Sequence[Sclerosant], volume: Volume) -> Goods:
    """The same with as many vials as the upper figure takes, as liquid; foam takes fewer."""
    if len(vials) != 1 or volume.figure is None or vials[0].price is None:
        what = "no volume" if volume.figure is None else _why_no_price(vials)
        return _costing(goods, None, f"not known: {what}")
    vial = vials[0]
    number = math.ceil(upper_ml(volume.figure) / vial.volume_ml)
    words = f"{number} of {vial.name} for the upper figure as liquid; foam takes fewer"
    if goods.cost is None:
        return _costing(goods, None, f"{goods.cost_text} ({words})")
    cost = goods.cost + number * (vial.price or 0.0)
    return _costing(goods, cost, f"{cost:.2f}, with {words}")


def no_implant() -> Goods:
    """Nothing that stays in the vein as a device; the cost is still to be added."""
    return Goods(implants=0, implants_text="none", cost=0.0, cost_text="0")


def volume_of(
    figure: SclerosantFigure | None, advisories: Iterable[Advisory], *, why_none: str
) -> Volume:
    """The figure beside every ceiling that the assessment gives in millilitres."""
    ceilings = tuple(_ceiling(one) for one in advisories if one.rule in CEILINGS)
    known = tuple(one for one in ceilings if one is not None)
    said = figure.text if figure is not None else f"not known: {why_none}"
    beside = "; ".join(one.text for one in known) or (
        "no ceiling: the case names no sclerosant (its drug, strength and form)"
    )
    return Volume(
        needed=True,
        figure=figure,
        ceilings=known,
        text=f"{said} Ceilings of the session: {beside}.",
    )


def no_volume() -> Volume:
    """A technique without sclerosant."""
    return Volume(needed=False, figure=None, ceilings=(), text="none: no sclerosant")


def upper_ml(figure: SclerosantFigure) -> float:
    """The figure's upper end, two standard deviations up."""
    return figure.volume_ml + SURE_SD * figure.sd_ml


def _ceiling(advisory: Advisory) -> VolumeCeiling | None:
    if advisory.limit is None or advisory.unit != "mL":
        return None
    left = "left not known" if advisory.left is None else f"left {advisory.left:.3g} mL"
    return VolumeCeiling(
        rule=advisory.rule,
        limit_ml=advisory.limit,
        left_ml=advisory.left,
        text=f"{advisory.limit:g} mL, {left} ({advisory.rule})",
    )


def _named(one: Placed) -> str:
    return one.name if one.number is None else f"{one.number} x {one.name}"


def _whole(numbers: Sequence[int | None]) -> int | None:
    known = [number for number in numbers if number is not None]
    return sum(known) if numbers and len(known) == len(numbers) else None


def _total(costs: Sequence[float | None]) -> float | None:
    known = [cost for cost in costs if cost is not None]
    return sum(known) if costs and len(known) == len(costs) else None


def _costing(goods: Goods, cost: float | None, text: str) -> Goods:
    return Goods(
        implants=goods.implants, implants_text=goods.implants_text, cost=cost, cost_text=text
    )


def _why_no_price(vials: Sequence[Sclerosant]) -> str:
    if not vials:
        return "no sclerosant on the shelf"
    if len(vials) > 1:
        return "several sclerosants on the shelf, and which is used is not stated"
    return f"the price of {vials[0].name} is not stated"
