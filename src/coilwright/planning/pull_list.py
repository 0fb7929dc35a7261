"""The pull-list for a plan: first choice, back-up and rescue, with shelf count and expiry."""

import math
from collections.abc import Iterator
from datetime import date

from coilwright.advice import Advisory, Urgency
from coilwright.kit import Kit, Sclerosant
from coilwright.kit.pair_fit import LABELS
from coilwright.planning.plan import LevelName, OcclusionPlan
from coilwright.planning.plan_advice import FROM_THE_MAP
from coilwright.planning.pull_coils import (
    RANKING,
    ask_another_size,
    ask_coil,
    first_choice,
    why_none,
    without_coil,
)
from coilwright.planning.pull_lines import (
    Missing,
    PullList,
    PullRole,
    Purpose,
    Rescue,
    RescueVerdict,
)
from coilwright.planning.pull_micro import ask_microcatheter
from coilwright.planning.pull_rescue import advise_rescue, ask_rescue, find_rescue
from coilwright.planning.pull_tray import Tray, Want
from coilwright.planning.pull_way import (
    WayIn,
    ask_way,
    ask_way_back_up,
    planned_way,
    way_of_kit,
)
from coilwright.protocol import Protocol, advise


def pull_list(
    plan: OcclusionPlan,
    kit: Kit,
    protocol: Protocol,
    *,
    on: date | None,
    pulled_on: date | None = None,
) -> PullList:
    """What to lay out for this plan, what stands against it, and what is not there.

    Parameters
    ----------
    kit
        With the counts, lots and expiries of the shelf on that day.
    on
        The day of the procedure; null: expiry is not judged by it, and that is said.
    pulled_on
        The day of laying out, which tells what has expired from what will have.

    Returns
    -------
    PullList
        The chain of a first choice is that of the plan's delivery check. A plan that names no
        coil gives the way to the vein and the rescue kit, as far as the kit shows them.

    References
    ----------
    REVIEW.md "Needed and missing" 3 and 8. Second coil, back-ups and rescue kit: common practice,
    no source.
    """
    tray = Tray(kit, on, pulled_on)
    firsts = [(lv.name, c) for lv in plan.levels if (c := first_choice(lv)) is not None]
    way = planned_way(firsts, tray) if firsts else way_of_kit(tray, protocol)
    for name, choice in firsts:
        ask_coil(name, choice, tray)
    ask_way(way, tray)
    _ask_sclerosant(plan, tray)
    without_back_up = _ask_back_up(plan, way, tray, protocol)
    rescue = find_rescue(way, tray, protocol)
    ask_rescue(rescue, tray)
    return PullList(
        on=on,
        lines=tuple(sorted(tray.lines(), key=lambda line: list(PullRole).index(line.role))),
        missing=(
            *without_coil(plan.levels),
            *way.missing,
            *tray.shortages(),
            *_without_rescue(rescue),
        ),
        no_coils_because=() if firsts else tuple(_why_no_coils(plan)),
        rescue=rescue,
        advisories=(advise_rescue(rescue), *_advise(without_back_up, way, on)),
    )


def _ask_back_up(
    plan: OcclusionPlan, way: WayIn, tray: Tray, protocol: Protocol
) -> list[LevelName]:
    """Every back-up that the shelf has; the levels for which it has no coil of another size."""
    without = [level.name for level in plan.levels if not ask_another_size(level, tray)]
    ask_way_back_up(way, tray, protocol)
    plain = [
        (level.name, level.choices)
        for level in plan.levels
        if (first := first_choice(level)) is not None and first.delivery.microcatheter is None
    ]
    ask_microcatheter(plain, way, tray, protocol)
    return without


def _ask_sclerosant(plan: OcclusionPlan, tray: Tray) -> None:
    """Whole vials that hold the sanity figure; the figure is never a dose, so never a need."""
    figure, shelf = plan.sclerosant, tray.kit.sclerosants
    if figure is None or not shelf:
        return

    def short(vial: Sclerosant) -> tuple[bool, int]:
        holds = tray.holds(vial.id)
        return holds == 0, max(0, _vials(figure.volume_ml, vial) - holds)

    vial = min(shelf, key=short)
    needed = _vials(figure.volume_ml, vial)
    tray.ask(
        Want(
            role=PullRole.FIRST_CHOICE,
            purpose=Purpose.SCLEROSANT,
            device=vial.id,
            name=vial.name,
            needed=needed,
            counts=False,
            why=(
                f"{needed} whole vials of {vial.volume_ml:g} mL hold the upper sanity figure of "
                f"{figure.volume_ml:.1f} +- {figure.sd_ml:.1f} mL as liquid. Never the dose: that "
                "is the contrast volume seen to fill the vein to the compressed ring without "
                "spill, below the assessment's ceilings."
            ),
            rule="sclerosant-sanity-figure",
            basis=FROM_THE_MAP,
        )
    )


def _vials(volume_ml: float, vial: Sclerosant) -> int:
    return max(1, math.ceil(volume_ml / vial.volume_ml))


def _without_rescue(rescue: Rescue) -> Iterator[Missing]:
    if rescue.verdict is RescueVerdict.NOT_THERE:
        text = f"a rescue kit: {'; '.join(rescue.missing)}"
        yield Missing(what="rescue-kit", device=None, short_by=None, text=text)


def _why_no_coils(plan: OcclusionPlan) -> Iterator[str]:
    """What the plan itself says in its stops, or of each level."""
    for level in plan.levels:
        yield f"{level.name} level: {why_none(level)}"
    if not plan.levels:
        yield "The plan has no levels."
        for advisory in plan.advisories:
            if advisory.urgency is Urgency.STOP_AND_THINK:
                yield advisory.text


def _advise(without: list[LevelName], way: WayIn, on: date | None) -> Iterator[Advisory]:
    for name in without:
        yield advise(
            rule="no-back-up-size",
            urgency=Urgency.CAUTION,
            text=f"No advised coil of another size is left on the shelf for the {name} level.",
            basis=(RANKING,),
        )
    if way.not_passing:
        failing = "; ".join(pair.text for pair in way.not_passing)
        yield advise(
            rule="way-not-shown-to-pass",
            urgency=Urgency.CAUTION,
            text=f"The way to the vein is not shown to pass: {failing}.",
            basis=(LABELS,),
        )
    if on is None:
        yield advise(
            rule="expiry-not-judged",
            urgency=Urgency.CAUTION,
            text="No day of the procedure was given, so no expiry was judged by it: look at the "
            "packs.",
            basis=(FROM_THE_MAP,),
            missing=("the date of the procedure",),
        )
