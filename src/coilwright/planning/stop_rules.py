"""When to stop trying the same thing: minutes, dose and contrast spent without cannulation.

The figures are those since the first attempt, the vein not yet cannulated. A figure that is not
known is said to be missing; below a limit from memory that nobody signed, nothing is shown as
satisfied.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from coilwright.advice import Advisory, Urgency
from coilwright.errors import Problem
from coilwright.kit import Kit
from coilwright.planning.next_options import Attempt, NextOption, next_options
from coilwright.planning.route import Access, RouteOption
from coilwright.planning.route_measured import RouteInputProblem
from coilwright.protocol import Limit, Protocol, advise


@dataclass(frozen=True, slots=True, kw_only=True)
class StopRules:
    """What was spent against the site's limits; ``met`` where one of them is reached.

    ``options`` stand in the site's order, those last that the kit on the shelf cannot serve.
    ``met`` null: none is known to be reached, but a figure is not known, or a limit is from memory
    and not signed off, so that nobody can say that the rules are kept.
    """

    met: bool | None
    advisories: tuple[Advisory, ...]
    options: tuple[NextOption, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Spent:
    rule: str
    field: str
    what: str
    limit_id: str
    value: float | None


def stop_rules(
    kit: Kit,
    protocol: Protocol,
    *,
    minutes: float | None,
    kap_gy_cm2: float | None,
    contrast_ml: float | None,
    tried: Sequence[str] = (),
    access: Access | None = None,
    ways: Sequence[RouteOption] = (),
    on: date | None = None,
) -> StopRules:
    """What was spent since the first attempt without cannulation, and what can be done next.

    Parameters
    ----------
    tried, access
        Ids of the devices and the access already tried, so that neither is named again.
    ways
        Of ``routes``, to tell from where else a catheter reaches; empty: that is not told.

    Raises
    ------
    RouteInputProblem
        A figure below 0 or not finite, or a tried device that the kit does not hold.

    References
    ----------
    REVIEW.md 8 (agreed stop rules with the next option), 12 (limits from memory).
    """
    spent = (
        _Spent(
            rule="stop-after-minutes",
            field="minutes",
            what="time since the first attempt",
            limit_id="stop-after-minutes",
            value=minutes,
        ),
        _Spent(
            rule="stop-after-kap",
            field="kap_gy_cm2",
            what="kerma-area product since the first attempt",
            limit_id="stop-after-kap",
            value=kap_gy_cm2,
        ),
        _Spent(
            rule="stop-after-contrast",
            field="contrast_ml",
            what="contrast since the first attempt",
            limit_id="stop-after-contrast",
            value=contrast_ml,
        ),
    )
    for one in spent:
        _check(one)
    _check_tried(tried, kit)
    attempt = Attempt(tried=tried, access=access, ways=ways)
    options = next_options(kit, protocol, attempt, on)
    advisories = tuple(_advise(one, protocol, options) for one in spent)
    return StopRules(
        met=_met(spent, protocol),
        advisories=advisories,
        options=options,
        missing=tuple(item for advisory in advisories for item in advisory.missing),
    )


def _check(spent: _Spent) -> None:
    if spent.value is not None and not (math.isfinite(spent.value) and spent.value >= 0):
        raise RouteInputProblem(
            Problem(
                field=spent.field,
                found=f"{spent.value:g} is not possible",
                mend="give what was spent since the first attempt, 0 or more",
            )
        )


def _check_tried(tried: Sequence[str], kit: Kit) -> None:
    known = {device.id for device in kit}
    for id in tried:
        if id not in known:
            raise RouteInputProblem(
                Problem(
                    field="tried",
                    found=f"the kit holds no device {id}",
                    mend="give ids of the kit file",
                )
            )


def _met(spent: Sequence[_Spent], protocol: Protocol) -> bool | None:
    known = [one for one in spent if one.value is not None]
    if any(_reached(one, protocol.limit(one.limit_id)) for one in known):
        return True
    # Below an unsigned limit is not "kept": nobody at the site stands for the number.
    stands = all(protocol.limit(one.limit_id).stands for one in spent)
    return False if len(known) == len(spent) and stands else None


def _reached(spent: _Spent, limit: Limit) -> bool:
    return spent.value is not None and spent.value >= limit.value


def _advise(spent: _Spent, protocol: Protocol, options: Sequence[NextOption]) -> Advisory:
    limit = protocol.limit(spent.limit_id)
    figure = f"{limit.value:g} {limit.unit}"
    if spent.value is None:
        return advise(
            rule=spent.rule,
            urgency=Urgency.CAUTION,
            text=f"Not known: {spent.what}. The local stop rule is {figure}.",
            basis=(limit,),
            limit=limit.value,
            unit=limit.unit,
            missing=(f"{spent.what} ({spent.field})",),
        )
    found = f"{spent.what}: {spent.value:g} {limit.unit} of {figure}, the vein not cannulated"
    reached = _reached(spent, limit)
    text = f"{found[0].upper()}{found[1:]}."
    if reached:
        text += f" Think of the next option: {_listed(options)}."
    return advise(
        rule=spent.rule,
        urgency=Urgency.STOP_AND_THINK if reached else Urgency.INFO,
        text=text,
        basis=(limit,),
        value=spent.value,
        limit=limit.value,
        left=max(0.0, limit.value - spent.value),
        unit=limit.unit,
        inputs={spent.what: f"{spent.value:g} {limit.unit}"},
    )


def _listed(options: Sequence[NextOption]) -> str:
    if not options:
        return "the site has named none"
    named = "; ".join(f"({i}) {option.text}" for i, option in enumerate(options, start=1))
    stands = all(option.place_stands for option in options)
    order = "in the site's order" if stands else "in an order from memory, not signed off"
    return f"{named} (what the shelf cannot serve last, {order})"
